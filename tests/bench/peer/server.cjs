/** express-pouchdb over leveldb on disk, and the page beside it: node server.cjs PORT FOLDER PAGES */
const [port, folder, pages] = process.argv.slice(2);
const express = require('express');
const PouchDB = require('pouchdb').defaults({ prefix: `${folder}/` });

const app = express();
app.use('/page', express.static(pages));
app.use('/db', require('express-pouchdb')(PouchDB, {
  mode: 'minimumForPouchDB', logPath: `${folder}/log.txt`, configPath: `${folder}/config.json`,
}));
app.listen(Number(port), '127.0.0.1', () => console.log('listening'));
