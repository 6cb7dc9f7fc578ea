const count = (value: number): string => value.toLocaleString('en-GB');
const plural = (value: number, one: string, many: string): string =>
  `${count(value)} ${value === 1 ? one : many}`;

/** The words of the page that takes in memory cards; what the files raise doubts about is said by the server. */
export const cardText = {
  nav: 'Card',
  title: 'Memory card',
  sentence:
    'Bring a memory card home: the gaps it can fill are filled, and nothing comes in twice.',
  site: 'The card was at',
  files: 'Text files of the card',
  filesHelp: 'Text, CSV, gzip or zip; up to 200 MB of text. Drop them here or choose them.',
  noNode: 'No site has a node yet.',
  look: 'Look at the files',
  bringing: (ratio: string) => `Bringing the files: ${ratio}.`,
  reading: (lines: number) => `Reading: ${plural(lines, 'line', 'lines')}.`,
  storing: (lines: number) => `Storing: ${plural(lines, 'line', 'lines')}.`,
  stop: 'Stop',
  understood: (samples: number, readings: number) =>
    `${plural(samples, 'sample', 'samples')} with ${plural(readings, 'reading', 'readings')} were understood. Nothing is stored yet.`,
  span: (from: string, to: string) => `From ${from} to ${to}.`,
  every: (seconds: number) => `Usually one every ${count(seconds)} s.`,
  missing: (cells: number) => `${plural(cells, 'cell has', 'cells have')} no value and stay empty.`,
  expected: (looked: number, here: number, filled: number, conflicts: number) =>
    `Of ${plural(looked, 'line', 'lines')} spread over the files, ${plural(here, 'reading is', 'readings are')} here already, ${count(filled)} would be new, ${plural(conflicts, 'differs', 'differ')} from what is stored.`,
  doubts: 'Doubts',
  blocking: 'To be settled first:',
  lineNumber: (line: number) => `line ${count(line)}`,
  columns: 'Columns',
  heading: 'Heading in the file',
  use: 'Is',
  unit: 'In',
  uses: { time: 'date and time', date: 'date', clock: 'time of day', 'leave-out': 'left out' },
  marks: { ',': 'comma', ';': 'semicolon', '\t': 'tab', '|': 'upright bar', ' ': 'blank' },
  delimiter: 'Between cells',
  decimal: 'Decimal mark',
  decimals: { '.': 'point: 12.8', ',': 'comma: 12,8' },
  zone: 'Zone of times without offset',
  rows: 'The first lines as they would be stored',
  at: (zone: string) => `Observed (${zone})`,
  again: 'Read again with these',
  changed: 'You changed something: have the files read again before they are stored.',
  store: 'Store these readings',
  discard: 'Do not store anything',
  done: (filled: number) =>
    filled === 0
      ? 'Nothing new: every reading of the card was here already.'
      : `${plural(filled, 'reading is', 'readings are')} new, marked as come by card.`,
  here: (value: number) => `${plural(value, 'reading was', 'readings were')} here already.`,
  repeated: (value: number) =>
    `${plural(value, 'reading was', 'readings were')} said twice in the files.`,
  conflicts: (value: number) =>
    `${plural(value, 'reading differs', 'readings differ')} from what came before. What came before is kept; both are listed here.`,
  metric: 'Reading',
  kept: 'Kept',
  card: 'On the card',
  more: 'Show more',
  another: 'Bring another card',
} as const;
