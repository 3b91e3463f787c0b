/** What phone and practice tell each other, and where the phone stands. */

/** A parsed acknowledgement: the only thing that marks entries as sent. */
export interface Acknowledged {
  store_id: string;
  device: string;
  through: number;
  held: number;
  acknowledged: string[];
  revoked: boolean;
  /** Another phone was set up from a copy of this one and came first. */
  clone: boolean;
  branch: string;
}

export interface Receipt {
  store_id: string;
  device: string;
  through: number;
  held: number;
  at: string;
}

export interface SyncState {
  phase: 'idle' | 'waiting' | 'sending' | 'fetching' | 'blocked' | 'offline';
  reason: string;
  /** Short name of the reason, for the chip. */
  code: string;
  /** Somebody asked for a round that is not over yet. */
  asked: boolean;
  own: number;
  pending: number;
  oldest: string | null;
  receipt: Receipt | null;
  batch: number;
  batches: number;
  held: number;
  connected: boolean;
  revoked: boolean;
  /** The list is here, but not yet all of its animals' exams of the past. */
  coming: boolean;
  photos: number;
  photoTrouble: string;
}
