/** Names that the build fills in (esbuild `define`). */
declare const GELSIDE_WORKER: string;
declare const GELSIDE_VERSION: string;
declare const GELSIDE_QR: string;
declare const GELSIDE_RUNTIME: string;
declare const GELSIDE_WASM: string;
declare const GELSIDE_TABLES: string;
declare const GELSIDE_RULES: string;
