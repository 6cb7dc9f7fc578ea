/**
 * Bounds checked before anything is parsed: a parser that recurses falls over on `[[[[…`, and three bytes of `{},` become
 * two hundred in memory.
 */
export const MAX_DEPTH = 8;
/** A day of twelve metrics each minute is 17,280. */
export const MAX_RECORDS = 20_000;
/** Largest MQTT payload. */
export const MAX_BYTES = 262_144;
/** Largest payload once inflated. */
export const MAX_INFLATED_BYTES = 1_048_576;
