/** A practice for the phone's tests: it keeps entries, opens sealed ones with its own key, and its line can be cut. */
const encoder = new TextEncoder();
const hash = async (text) => Buffer.from(await crypto.subtle.digest('SHA-256', encoder.encode(text))).toString('hex');

export class Practice {
  static async found() {
    const practice = new Practice();
    practice.pair = await crypto.subtle.generateKey(
      { name: 'RSA-OAEP', modulusLength: 2048, publicExponent: new Uint8Array([1, 0, 1]), hash: 'SHA-256' }, true, ['encrypt', 'decrypt'],
    );
    practice.key = { ...(await crypto.subtle.exportKey('jwk', practice.pair.publicKey)), kid: 'one' };
    return practice;
  }

  constructor() {
    /** @type {Map<string, any>} id to envelope */
    this.held = new Map();
    this.tokens = new Map([['first', 'approved']]);
    this.line = 'good';
    /** Names what is told to phones; a practice of before names nothing. @type {string | undefined} */
    this.mark = 'mark 1';
    /** What came over the line, as text. */
    this.heard = [];
    this.pairings = new Map();
  }

  /** fetch() as the phone calls it. */
  async answer(path, init = {}) {
    if (this.line === 'cut') throw new TypeError('Failed to fetch');
    this.heard.push(`${path} ${JSON.stringify(init.headers || {})} ${init.body || ''}`);
    const { status, body } = await this.said(path, init);
    if (this.line === 'lost') throw new TypeError('Failed to fetch');
    return new Response(JSON.stringify(body), { status, headers: { 'Content-Type': 'application/json' } });
  }

  async said(path, init) {
    const body = init.body ? JSON.parse(init.body) : null;
    if (path.startsWith('/api/pair')) return this.paired(path, init, body);
    const state = this.tokens.get((init.headers.Authorization || '').replace('Bearer ', ''));
    if (!state) return this.error(401, 'unknown_phone');
    if (path === '/api/journal/sealed') return this.taken(body, await this.opened(body), state);
    if (path === '/api/journal' && body) return this.taken(body, body.entries, state);
    if (state === 'revoked') return this.error(403, 'revoked');
    if (path === '/api/practice') return { status: 200, body: this.told() };
    return { status: 200, body: { protocol: 1, store_id: 'store', scope: 'all', entries: [], next: 0, more: false, practice: this.mark } };
  }

  told() {
    return { mark: this.mark, practice: 'Test', phone: 'Phone', people: [], store_id: 'store', lock: { pin: true, keep_days: 30 }, server_key: this.key };
  }

  error(status, code) {
    return { status, body: { error: { code, message: code } } };
  }

  async opened({ wrapped_key: wrapped, sealed }) {
    const raw = await crypto.subtle.decrypt({ name: 'RSA-OAEP' }, this.pair.privateKey, Buffer.from(wrapped, 'base64'));
    const key = await crypto.subtle.importKey('raw', raw, 'AES-GCM', false, ['decrypt']);
    return Promise.all(sealed.map(async ({ id, iv, data }) => {
      const how = { name: 'AES-GCM', iv: Buffer.from(iv, 'base64'), additionalData: encoder.encode(id) };
      return JSON.parse(new TextDecoder().decode(await crypto.subtle.decrypt(how, key, Buffer.from(data, 'base64'))));
    }));
  }

  async taken({ device }, envelopes, state) {
    const results = [];
    for (const envelope of envelopes) {
      const id = await hash(envelope.header);
      results.push({ id, status: this.held.has(id) ? 'duplicate' : 'stored' });
      this.held.set(id, envelope);
    }
    const seqs = new Set([...this.held.values()].map((one) => JSON.parse(one.header)).filter((one) => one.device === device).map((one) => one.seq));
    let through = 0;
    while (seqs.has(through + 1)) through += 1;
    return { status: 200, body: { protocol: 1, store_id: 'store', device, through, held: seqs.size, results, revoked: state === 'revoked', clone: false } };
  }

  /** One secret, one phone, the desk's word. */
  paired(path, init, body) {
    if (path === '/api/pair') {
      const found = [...this.pairings.values()].find((one) => one.secret === (body.secret || body.code) && one.state === 'open');
      if (!found) return this.error(403, 'pairing_refused');
      Object.assign(found, { state: 'waiting', device: body.device });
      return { status: 200, body: { pairing: found.id, poll: found.poll, number: '000000' } };
    }
    const found = this.pairings.get(path.split('/').pop());
    if (!found || found.poll !== init.headers['X-Pairing-Poll']) return this.error(403, 'pairing_refused');
    if (found.state !== 'confirmed') return { status: 200, body: { state: found.state } };
    const token = `token-${found.id}-${this.tokens.size}`;
    this.tokens.set(token, 'approved');
    return { status: 200, body: { ...this.told(), state: 'confirmed', token } };
  }

  /** A new pairing at the desk. @param {string} secret */
  start(secret) {
    const pairing = { id: `p${this.pairings.size + 1}`, secret, poll: `poll-${this.pairings.size + 1}`, state: 'open' };
    this.pairings.set(pairing.id, pairing);
    return pairing;
  }
}
