/** What is wrong with a configuration, each with how to mend it: all of it at once. */
export type Faults = string[];

export function readRecord(value: unknown, what: string, faults: Faults): Record<string, unknown> {
  if (typeof value === 'object' && value !== null && !Array.isArray(value))
    return value as Record<string, unknown>;
  faults.push(`${what} is missing or is not an object { … }.`);
  return {};
}

export function readText(value: unknown, what: string, faults: Faults): string {
  if (typeof value === 'string' && value !== '') return value;
  faults.push(`${what} is missing or is not text.`);
  return '';
}

export function readOptionalText(value: unknown, what: string, faults: Faults): string | undefined {
  return value === undefined ? undefined : readText(value, what, faults);
}

/** A misspelt key would otherwise be passed over in silence. */
export function nameUnknownKeys(
  record: Readonly<Record<string, unknown>>,
  known: readonly string[],
  { what, faults }: { readonly what: string; readonly faults: Faults },
): void {
  for (const key of Object.keys(record))
    if (!known.includes(key))
      faults.push(`${what} has "${key}", which is not known; known are ${known.join(', ')}.`);
}
