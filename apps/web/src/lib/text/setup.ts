const minus = (value: number): string => value.toLocaleString('en-GB').replace('-', '−');
const utc = (hours: number): string => {
  const whole = Math.round(hours * 4) / 4;
  return `UTC${whole < 0 ? '−' : '+'}${Math.abs(whole)}`;
};

/** What Setup says of figures that cannot be, or hardly. */
export const setupText = {
  missing: 'It is needed.',
  noNumber: (typed: string) =>
    `“${typed}” is no number. Write it with digits alone, such as 54.9 or 54,9.`,
  notWhole: 'It must be a whole number.',
  outside: (least: number, most: number) =>
    `It must lie between ${minus(least)} and ${minus(most)}.`,
  shortName: (least: number, most: number) =>
    `${least} to ${most} small letters, digits and hyphens, such as tarn-gill.`,
  levelsWrong: 'It must lie above the shut-down level.',
  mend: (count: number) =>
    count === 1 ? 'One field is not right yet.' : `${count} fields are not right yet.`,
  swapped: (place: {
    readonly latitudeDeg: number;
    readonly longitudeDeg: number;
    readonly timeZone: string;
  }) =>
    `Latitude and longitude may be swapped: ${side(place.longitudeDeg, 'north', 'south')}, ${side(place.latitudeDeg, 'east', 'west')} lies where clocks are those of ${place.timeZone}; ${minus(place.latitudeDeg)}, ${minus(place.longitudeDeg)} does not.`,
  farOff: (place: {
    readonly longitudeDeg: number;
    readonly timeZone: string;
    readonly offsetH: number;
  }) =>
    `At longitude ${minus(place.longitudeDeg)}° the sun keeps about ${utc(Math.round(place.longitudeDeg / 15))}, but ${place.timeZone} is ${utc(place.offsetH)}. Is the zone right, and the sign of the longitude?`,
  isRight: 'It is right as it stands',
  swapThem: 'Swap them',
} as const;

const side = (value: number, above: string, below: string): string =>
  `${Math.abs(value)} ${value < 0 ? below : above}`;
