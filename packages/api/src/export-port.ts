import type {
  AvailabilityJson,
  ExportEstimateJson,
  ExportJson,
  NewExportJson,
} from '@duskline/contract';
import type { Account, Result } from '@duskline/domain';
import type { Readable } from 'node:stream';

/** Who asks for data, and what of it they may have. */
export interface ExportReader {
  readonly account: Account;
  /** Positions as they are, not blurred. */
  readonly exactPositions: boolean;
  /** Exports of everybody, not only their own. */
  readonly seesAll: boolean;
}

/** Why an export cannot be made or had, as a problem of the catalogue. */
export interface ExportRefusal {
  readonly code:
    | 'export-unknown'
    | 'export-not-done'
    | 'export-gone'
    | 'exports-busy'
    | 'not-allowed'
    | 'site-unknown'
    | 'range-invalid';
  readonly detail: string;
  /** When to ask again. */
  readonly retryAfterS?: number;
}

/** A finished file: always the same bytes behind one id. */
export interface ExportFile {
  readonly fileName: string;
  readonly mediaType: string;
  readonly bytes: number;
  readonly sha256: string;
  /** Of the bytes [from, to). */
  open(from: number, to: number): Readable;
}

/** Makes exports in the background. Where it is not given, its routes do not exist. */
export interface ExportPort {
  estimate(
    query: NewExportJson,
    reader: ExportReader,
  ): Promise<Result<ExportEstimateJson, ExportRefusal>>;
  start(query: NewExportJson, reader: ExportReader): Promise<Result<ExportJson, ExportRefusal>>;
  /** The latest first. */
  list(reader: ExportReader): Promise<readonly ExportJson[]>;
  find(id: number, reader: ExportReader): Promise<Result<ExportJson, ExportRefusal>>;
  file(id: number, reader: ExportReader): Promise<Result<ExportFile, ExportRefusal>>;
  /** Stops it if it is at work, and forgets it and its file. */
  remove(id: number, reader: ExportReader): Promise<Result<null, ExportRefusal>>;
  availability(
    range: { readonly from: string; readonly to: string },
    reader: ExportReader,
  ): Promise<Result<AvailabilityJson, ExportRefusal>>;
  availabilityCsv(report: AvailabilityJson): string;
}
