import type { LimitsBeneathJson, QualityLimitsJson } from '@duskline/contract';
import type { Result } from '@duskline/domain';

/** What stands in the fields of one test; null: the field is empty. All empty and not off: as it is without. */
export interface TestEntry {
  readonly values: readonly (number | null)[];
  /** The test is not made at all. */
  readonly off: boolean;
}

/** One test as the form shows it. */
export interface LimitTest {
  readonly key: string;
  readonly legend: string;
  /** What it does, in a sentence. */
  readonly does: string;
  readonly fields: readonly { readonly label: string; readonly unit: string }[];
  /** What holds when nothing is entered, with where it comes from. */
  readonly beneath: string;
  readonly back: string;
  readonly mayBeOff: boolean;
  readonly entry: TestEntry;
}

/** What the limits are of: one metric alone, or readings that are held against each other. */
export interface LimitSubject {
  readonly tests: readonly LimitTest[];
  /**
   * The limits with the entries in them, one for each test. What the subject does not show stays as it was.
   *
   * @returns where they cannot be kept: for each test what is wrong with it, or undefined
   */
  readonly put: (
    entries: readonly TestEntry[],
  ) => Result<QualityLimitsJson, readonly (string | undefined)[]>;
}

/** What a subject is made from. */
export interface LimitsOfPlace {
  readonly limits: QualityLimitsJson;
  readonly beneath: LimitsBeneathJson;
}
