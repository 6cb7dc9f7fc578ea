import type { Writable } from 'node:stream';
import type { ExportRequest } from './export-request.ts';
import type { ExportFrame, ExportSource } from './export-source.ts';

export interface ExportProgress {
  readonly rows: number;
  /** 0–1, by the samples read. */
  readonly ratio: number;
}

export interface ExportOutcome {
  /** Readings, or values made of them, in the long form. */
  readonly rows: number;
}

export interface WriteDeps {
  readonly source: ExportSource;
  readonly frame: ExportFrame;
  readonly request: ExportRequest;
  readonly out: Writable;
  readonly signal: AbortSignal;
  readonly onProgress: (progress: ExportProgress) => void;
}
