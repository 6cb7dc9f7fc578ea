/** A day: who asks for less would not notice a node that died. */
export const LONGEST_INTERVAL_S = 86_400;

export const isSettingsId = (value: unknown): value is string =>
  typeof value === 'string' && /^[A-Za-z0-9_-]{1,64}$/.test(value);
