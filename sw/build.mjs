/** Builds the phone app into static/build: bundles, rules package, precache list. Fails above the size limit. */
import { createHash } from 'node:crypto';
import { cp, mkdir, readFile, readdir, rm, writeFile } from 'node:fs/promises';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { brotliCompressSync, gzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { injectManifest } from 'workbox-build';
import { lean } from './lean.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const source = join(here, '..', 'static');
const core = join(here, '..', 'webapp', 'core');
const out = join(source, 'build');
const micropython = join(here, 'node_modules', '@micropython', 'micropython-webassembly-pyscript');
/** Tables that the screen needs before it shows anything; the rule code takes these and all others. */
const OF_SCREEN = ['catalogue', 'descriptors', 'windows', 'procedures', 'spelling'];
/** What phones fetch at most, in kB gzip. */
const LARGEST = {
  first: { most: 300, words: 'first download without the runtime' },
  scripts: { most: 100, words: 'scripts that a start runs (without qr: once, at pairing)' },
  styles: { most: 20, words: 'styles' },
  all: { most: 1200, words: 'everything kept for use without network' },
};

const common = {
  bundle: true,
  minify: true,
  outdir: out,
  entryNames: '[name].[hash]',
  target: ['es2022'],
  metafile: true,
  nodePaths: [join(here, 'node_modules')],
  logLevel: 'warning',
};

await rm(out, { recursive: true, force: true });
await mkdir(out, { recursive: true });
const rules = await rulesPackage();
const runtime = await runtimeFiles();
const engine = await bundle({ entryPoints: [join(source, 'app', 'engine-worker.js')], format: 'esm' });
const qr = await bundle({ entryPoints: [join(source, 'app', 'qr.js')], format: 'esm' });
const app = await bundle({
  external: ['/build/*'],
  entryPoints: [join(source, 'app', 'page.js'), join(source, 'styles', 'app.css')],
  format: 'esm',
  define: {
    GELSIDE_WORKER: JSON.stringify(`/build/${engine['engine-worker.js']}`),
    GELSIDE_QR: JSON.stringify(`/build/${qr['qr.js']}`),
    GELSIDE_RUNTIME: JSON.stringify(runtime.script),
    GELSIDE_WASM: JSON.stringify(runtime.wasm),
    GELSIDE_TABLES: JSON.stringify(rules.tables),
    GELSIDE_RULES: JSON.stringify(rules.rules),
    GELSIDE_VERSION: JSON.stringify(rules.version),
  },
});
await staticFiles(app);
await serviceWorker();
await sizes();
await packed();

/** @returns {Promise<Record<string, string>>} entry name -> file name with its hash */
async function bundle(options) {
  const result = await build({ ...common, ...options });
  const names = {};
  for (const [file, info] of Object.entries(result.metafile.outputs)) {
    if (!info.entryPoint) continue;
    names[info.entryPoint.split('/').pop()] = file.split('/').pop();
  }
  return names;
}

/**
 * tables.*.json: what the screen needs, small, so that a first start need not wait for the rest. rules.*.json: the rule
 * code's files (see lean.mjs) and the other tables' texts. rules.json, for the server alone: a hash over all of it.
 */
async function rulesPackage() {
  const files = {};
  for (const path of await pythonFiles(core)) {
    files[`core/${relative(core, path).split('\\').join('/')}`] = lean(await readFile(path, 'utf8'));
  }
  const tables = {};
  for (const file of (await readdir(join(core, 'tables'))).sort()) {
    if (file.endsWith('.json')) tables[file.slice(0, -'.json'.length)] = await readFile(join(core, 'tables', file), 'utf8');
  }
  const hash = createHash('sha256').update(JSON.stringify([files, tables])).digest('hex');
  const pick = (wanted) => Object.fromEntries(Object.entries(tables).filter(([name]) => wanted(name)));
  await writeFile(join(out, 'rules.json'), JSON.stringify({ hash }));
  return {
    tables: await named('tables.json', JSON.stringify({ tables: pick((name) => OF_SCREEN.includes(name)), hash })),
    rules: await named('rules.json', JSON.stringify({ files, tables: pick((name) => !OF_SCREEN.includes(name)), hash })),
    version: hash.slice(0, 12),
  };
}

/** Written under a name that changes with what is in it, so that nobody who has it asks again. @returns its address */
async function named(name, content) {
  const hash = createHash('sha256').update(content).digest('hex').slice(0, 8).toUpperCase();
  const file = name.replace(/\.(\w+)$/, `.${hash}.$1`);
  await writeFile(join(out, file), content);
  return `/build/${file}`;
}

async function runtimeFiles() {
  const [script, wasm] = await Promise.all(['mjs', 'wasm'].map(async (kind) =>
    named(`micropython.${kind}`, await readFile(join(micropython, `micropython.${kind}`)))));
  return { script, wasm };
}

/** Python files below `folder`, sorted, without tests and caches. */
async function pythonFiles(folder) {
  const found = [];
  for (const item of await readdir(folder, { withFileTypes: true })) {
    const path = join(folder, item.name);
    if (item.isDirectory() && !/^(tests?|__pycache__|tables)$/.test(item.name)) found.push(...(await pythonFiles(path)));
    else if (item.name.endsWith('.py')) found.push(path);
  }
  return found.sort();
}

async function staticFiles(names) {
  const page = await readFile(join(source, 'index.html'), 'utf8');
  const filled = page
    .replace('{{app.js}}', `/build/${names['page.js']}`)
    .replace('{{app.css}}', `/build/${names['app.css']}`)
    .replace('{{tables}}', rules.tables);
  await writeFile(join(out, 'index.html'), filled);
  await cp(join(source, 'manifest.webmanifest'), join(out, 'manifest.webmanifest'));
  await cp(join(source, 'icons'), out, { recursive: true });
}

async function serviceWorker() {
  await build({
    ...common,
    entryNames: '[name]',
    outdir: join(out, 'worker'),
    entryPoints: [join(here, 'sw.js')],
    format: 'iife',
    define: { 'process.env.NODE_ENV': '"production"' },
  });
  await injectManifest({
    swSrc: join(out, 'worker', 'sw.js'),
    swDest: join(out, 'sw.js'),
    globDirectory: out,
    globPatterns: ['**/*'],
    globIgnores: ['sw.js', 'worker/**', 'rules.json'],
    maximumFileSizeToCacheInBytes: 5 * 1024 * 1024,
    // What carries a hash in its name is taken from what the page has just fetched, never fetched twice.
    dontCacheBustURLsMatching: /\.[A-Z0-9]{8}\.\w+$/,
    manifestTransforms: [
      (entries) => ({
        manifest: entries.map((entry) => ({
          ...entry,
          url: entry.url === 'index.html' ? '/' : `/build/${entry.url}`,
        })),
      }),
    ],
  });
  await rm(join(out, 'worker'), { recursive: true });
}

/** Prints what a first visit fetches, and fails above a limit. */
async function sizes() {
  const sum = { first: 0, scripts: 0, styles: 0, all: 0 };
  for (const name of (await readdir(out)).sort()) {
    const packed = gzipSync(await readFile(join(out, name)), { level: 9 }).length;
    const isRuntime = name.startsWith('micropython.');
    sum.all += packed;
    if (!isRuntime) sum.first += packed;
    if (/^(page|engine-worker|sw)\..*js$/.test(name)) sum.scripts += packed;
    if (name.endsWith('.css')) sum.styles += packed;
    console.log(`${name.padEnd(36)} ${String(packed).padStart(8)} B gzip${isRuntime ? '  (runtime)' : ''}`);
  }
  const over = Object.entries(LARGEST).filter(([what, { most }]) => sum[what] > most * 1024);
  for (const [what, { most, words }] of Object.entries(LARGEST)) {
    console.log(`${words}: ${(sum[what] / 1024).toFixed(1)} kB gzip (limit ${most} kB)`);
  }
  if (over.length) throw new Error(`over its limit, make it smaller: ${over.map(([, { words }]) => words).join(', ')}`);
}

/** Beside each text and the runtime the same, compressed as small as it goes: the server sends what a browser takes. */
async function packed() {
  for (const name of await readdir(out)) {
    if (name.endsWith('.png')) continue;
    const content = await readFile(join(out, name));
    await writeFile(join(out, `${name}.br`), brotliCompressSync(content));
    await writeFile(join(out, `${name}.gz`), gzipSync(content, { level: 9 }));
  }
}
