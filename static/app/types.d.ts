/** Shapes shared by the modules of the phone app. Numbers that matter are decimal strings throughout. */

export type Json = string | number | boolean | null | Json[] | { [key: string]: Json };

/** What is about to be recorded; the journal adds device, seq, prev, at and the hashes. */
export interface Draft {
  exam: string | null;
  patient: string | null;
  author: string;
  behalf: string | null;
  kind: string;
  after: string[];
  of: string[];
  body: { [key: string]: Json };
}

export interface Header {
  v: number;
  device: string;
  seq: number;
  prev: string;
  exam: string | null;
  patient: string | null;
  author: string;
  behalf: string | null;
  at: string;
  kind: string;
  after: string[];
  of: string[];
  body_hash: string;
}

export interface Envelope {
  header: string;
  body: string;
}

/** An opened entry: header fields, id and the body as an object. */
export interface Entry extends Header {
  id: string;
  body: { [key: string]: any };
}

/**
 * A row of the entry store: the envelope in clear or sealed. `closed` when it was sealed with a key that is gone (the
 * practice holds it). What waits to be sent is told by waiting.js.
 */
export interface Row {
  id: string;
  device: string;
  seq: number;
  own: 0 | 1;
  /** Of an own entry: the device's time, in clear. */
  at?: string;
  header?: string;
  body?: string;
  sealed?: { iv: Uint8Array<ArrayBuffer>; data: ArrayBuffer };
  damaged?: 1;
  closed?: 1;
}

export interface Patient {
  name?: string | null;
  species?: string | null;
  breed?: string | null;
  sex?: string | null;
  neutered?: boolean | null;
  birth_date?: string | null;
  age_months?: number | null;
  weight_kg?: string | null;
  weight_source?: string | null;
  /** As it was typed, where that was not kg. */
  weight_typed?: string | null;
  weight_typed_unit?: string | null;
  weight_date?: string | null;
  microchip?: string | null;
  operation?: string | null;
  ideal_weight_kg?: string | null;
  body_condition?: number | null;
}

export interface Reading {
  id: string;
  quantity: string;
  value: string;
  unit: string;
  typed: string;
  typed_unit: string;
  how: Record<string, string>;
  lesion: string | null;
  struck: boolean;
  at: string;
}

export interface SeenState {
  id: string;
  about: string;
  seen: string;
  why: string[];
  normal: boolean;
  at: string;
}

/** A needle procedure, done or not done, with what was seen afterwards. */
export interface Procedure {
  id: string;
  about: string;
  procedure: string;
  done: boolean;
  why_not?: string;
  watched: string[];
}

export interface Finding {
  id: string;
  structure: string;
  finding: string;
  part?: string;
  site?: string;
  shape?: string;
  dimensions?: string[];
  unit?: string;
  vessel?: { id: string; state: string; extent?: string };
  number?: number;
  outline?: string;
  echo?: string;
  text?: string;
  /** The machine's own number of the picture. */
  image?: string;
  struck: boolean;
}

export interface Note {
  id: string;
  about: string;
  text: string;
  /** The clip whose words these are. */
  of: string[];
  struck: boolean;
  at: string;
}

/** An exam that was said to belong to another animal; both names stay. */
export interface Moved {
  id: string;
  from: { id: string; name: string | null; species: string | null };
  to: { id: string; name: string | null; species: string | null };
  why: string | null;
  author: string;
  at: string;
  struck: boolean;
}

/** A reason given for a line, and the records it was given for. */
export interface Acknowledgement {
  id: string;
  about: string;
  flag: string;
  reason: string;
  of: string[];
}

/** A question of the desk about the exam; `open` until somebody answered it. */
export interface Asked {
  id: string;
  about: string;
  text: string;
  author: string;
  at: string;
  answers: { text: string; author: string; at: string }[];
  open: boolean;
}

/** What the screen shows of an exam; judgement is the engine's alone. */
export interface ExamView {
  id: string;
  patientId: string;
  visit: string | null;
  training: boolean;
  date: string;
  openedAt: string;
  closed: boolean;
  signed: boolean;
  patient: Patient;
  question: { text: string; structures: string[]; answered: string | null };
  context: { [key: string]: any };
  readings: Reading[];
  states: { [about: string]: SeenState };
  findings: Finding[];
  notes: Note[];
  asked: Asked[];
  attachments: import('./photos').Attachment[];
  procedures: Procedure[];
  moved: Moved[];
  fields: { [about: string]: any };
  acknowledged: Acknowledgement[];
  count: number;
}

export interface LimitShown {
  id: string;
  lower: string | null;
  upper: string | null;
  unit?: string;
  population?: string;
  n?: number | string | null;
  plane?: string | null;
  known?: string;
  class_words?: string;
}

export interface AlsoRow {
  id: string;
  verdict: string;
  words?: string;
  known?: string;
}

export interface Line {
  about: string;
  kind?: string;
  grade?: string;
  why?: string;
  value?: string;
  unit?: string;
  limit?: LimitShown | null;
  also?: AlsoRow[];
  at_least?: boolean;
  borderline?: boolean | null;
  probability?: number | null;
  text?: string;
  source?: string;
  structure?: string | null;
  part?: string | null;
  call?: string;
  /** Another published limit or range says otherwise of this value. */
  sources_differ?: boolean;
  windows?: { id: string; label: string; how: string; tried?: boolean }[];
  tried?: string;
  flips?: string[];
}

export interface ValueLine {
  quantity: string;
  value: string;
  unit: string;
  n: number;
  spread: string | null;
  derived?: boolean;
  inputs?: string[];
  words?: string;
  earlier?: { value: string; date: string; change?: string | null; change_percent?: string | null; words?: string; differs?: string[] } | null;
}

export interface Judgement {
  limits_version: string;
  flags: Line[];
  open: Line[];
  silent: Line[];
  values: ValueLine[];
  judged: Line[];
  assumed: { about: string; text: string }[];
  contradictions: { about: string; kind: string; text: string }[];
  sentences: { [structure: string]: string };
  context: { about: string; text: string; source: string; known: string }[];
  /** How each structure was reached in the last exam that says so. */
  last_time: { structure: string; date: string; words: string }[];
  lesions: { structure: string; finding: string; number: number | null; now: string[]; then: string[]; date: string; words: string }[];
}

/** What the running engine judges by. */
export interface Versions {
  core_version: string;
  limits_version: string;
}

export interface EarlierExam {
  id: string;
  date: string;
  weight_kg: string | null;
  values: ValueLine[];
}

export interface EngineAnswer {
  exam: any;
  judgement: Judgement;
  earlier?: EarlierExam[];
}

export interface Part {
  id: string;
  label: string;
}

export interface Structure {
  id: string;
  label: string;
  parts: Part[];
  present_when: string | null;
  default: boolean;
  note?: string | null;
  pair?: string | null;
  often_not_visible?: string[];
}

export interface Quantity {
  id: string;
  label: string;
  short: string | null;
  unit: string;
  plane: string | null;
  readings: number;
  core: boolean;
  plausible: { from: string | null; to: string | null } | null;
  usual: { [species: string]: { from: string; to: string } } | null;
  decimals: number;
  structure: string | null;
  part: string | null;
  derived: any;
  species?: string[] | null;
  note?: string | null;
}

export interface Catalogue {
  version: string;
  weight_plausible_kg: { [species: string]: { from: string; to: string } };
  structures: Structure[];
  quantities: Quantity[];
  /** Ids of what one sweep of the probe shows. */
  together: string[][];
  seen_states: { id: string; label: string }[];
  not_seen_reasons: string[];
  /** Why one reading of a thing is enough. */
  one_reading_reasons: string[];
  reading_context: { [key: string]: any };
}

export interface Settings {
  author: string | null;
  authorName: string | null;
  behalf: string | null;
  machineUnit: 'mm' | 'cm';
  /** Rows of the machine's picture, decimal text, for the size of a pixel. */
  machineRows: string | null;
  /** A length keeps itself at its tenth of a millimetre, without the key. */
  selfKeep: boolean;
  /** The thumb that types: the wide keys stand on its side. */
  hand: 'right' | 'left';
  /** One sentence on each screen: the first time it is seen, or always. */
  help: 'once' | 'always';
  /** Screens and panels whose sentence was seen. */
  helped: string[];
  theme: 'dim' | 'bright';
  weightUnit: 'kg' | 'lb';
  /** Today's list: one's own animals first, or as the practice planned it. */
  listOrder: 'mine' | 'plan';
}

/** Where the hand was: kept in the draft store, never as an entry. */
export interface Position {
  exam: string;
  structure: string;
  row: string | null;
  typed: string;
  how?: Record<string, string>;
  /** A finding or a description that was begun. */
  panel?: any;
  /** How many readings of the row there were, those on their way to the disk too. */
  readings?: number;
  at: string;
}

export interface Person {
  id: string;
  name: string;
  role: string;
}

export interface Practice {
  practice: string;
  people: Person[];
  phone: string;
  store_id: string;
  /** Names all of this, as the practice told it last. */
  mark?: string;
  lock?: { pin: boolean; keep_days: number };
  /** The practice's own limits and switches over the shipped tables, the spread it learned, and the version of both together. */
  overlay?: any;
  learned?: { [pattern: string]: any };
  limits_version?: string;
  spelling?: 'british' | 'american';
  ways?: { [person: string]: { order: string[]; phrases: { [short: string]: string } } };
  /** "browser" where the practice allows the browser's speech interface; audio then leaves the practice. */
  speech?: 'off' | 'browser';
  server_key?: JsonWebKey;
}

export type { Acknowledged, Receipt, SyncState } from './types-sync';
