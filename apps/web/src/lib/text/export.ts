import { plural } from './plural.ts';

const count = (value: number): string => value.toLocaleString('en-GB');
const megabytes = (bytes: number): string =>
  bytes < 100_000 ? `${Math.ceil(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;

/** Words of the pages that give data away. */
export const exportText = {
  nav: 'Data',
  title: 'Data',
  sentence:
    'Every reading once, with its unit, its quality and the reason of every gap, in one download.',
  warning:
    'Gaps are not random: nodes go dark in dark, cold weather. gaps.csv in the package says why.',
  report: 'Report of the year',
  card: 'Bring a memory card',
  from: 'From',
  to: 'Until before',
  utc: 'Days begin at 00:00 UTC.',
  sites: 'Sites',
  sitesChosen: (chosen: number, all: number) =>
    chosen === 0
      ? `None chosen: all ${count(all)} of them.`
      : `${count(chosen)} of ${count(all)} chosen.`,
  findSite: 'Find a site',
  sitesFound: (found: number, all: number) => `${count(found)} of ${count(all)} shown.`,
  metrics: 'Readings of',
  metricsChosen: (chosen: number) =>
    chosen === 0 ? 'None chosen: all that there are.' : `${count(chosen)} chosen.`,
  aggregateHelp: {
    '': 'Harvest and load in Wh (energy.csv) come with packages summed up over an hour or more.',
    '10min':
      'Harvest and load in Wh (energy.csv) come with packages summed up over an hour or more.',
    '1h': 'Packages have harvest and load in Wh as well (energy.csv).',
    '6h': 'Packages have harvest and load in Wh as well (energy.csv).',
    '1d': 'The first and the last row of a site may be a part of a day: they cover only what lies between From and Until before, which are days of UTC. Packages have harvest and load in Wh as well (energy.csv).',
  },
  contents: (rows: string, metrics: string) => `${rows}; ${metrics}`,
  allMetrics: 'all metrics',
  contact: 'Contact, written into the package',
  contactHelp:
    'Whoever gets the data reads it; it is your own choice whether to give a name; empty: none is given.',
  range: (days: number, first: string, last: string, isToday: boolean) =>
    `${plural(days, 'day', 'days')}, ${days === 1 ? first : `${first} to ${last}`}, each from 00:00 to 24:00 UTC${isToday ? '; the last is today, as far as it has come' : ''}.`,
  noRange: '“Until before” must lie after “From”.',
  format: 'As',
  formats: {
    zip: 'package, CSV in a zip',
    csv: 'one CSV file',
    parquet: 'package with Parquet',
    ndjson: 'NDJSON, a reading a line',
  },
  aggregate: 'Summed up over',
  raw: 'nothing: every reading',
  rawRows: 'every reading',
  rowsOf: (length: string) => `a value for every ${length}`,
  lengths: {
    '10min': '10 minutes',
    '1h': 'an hour',
    '6h': '6 hours',
    '1d': 'a day of the site',
  },
  every: {
    '1min': 'minute',
    '5min': '5 minutes',
    '10min': '10 minutes',
    '15min': '15 minutes',
    '30min': '30 minutes',
    '1h': 'hour',
    '3h': '3 hours',
    '6h': '6 hours',
    '12h': '12 hours',
    '1d': 'day of the site',
  },
  wide: 'One row for each time as well',
  localTime: 'A column with the site’s own time',
  spreadsheet: 'For a spreadsheet: no file over 1,048,576 rows',
  forecasts: 'Outlooks as they were issued',
  names: 'Names of people in events and gaps; otherwise their roles',
  exact: 'Exact positions, not blurred to 0.01°',
  size: 'How large?',
  make: 'Make it',
  estimate: (rows: number, bytes: number, sites: number, fits: boolean) =>
    `About ${count(rows)} rows of ${count(sites)} ${sites === 1 ? 'site' : 'sites'}, one for each metric and time; the file about ${megabytes(bytes)}.${fits ? '' : ' One sheet of a spreadsheet does not take them.'}`,
  made: 'Exports',
  none: 'Nothing was asked for yet.',
  columns: ['Export', 'Made', 'State', 'Size', 'sha-256'],
  state: {
    running: 'being made',
    done: 'ready',
    failed: 'failed',
    stopped: 'stopped',
    expired: 'file no longer kept',
  },
  rows: (rows: number) => `${count(rows)} rows`,
  bytes: megabytes,
  keptUntil: (moment: string) => `kept until ${moment}`,
  fetch: 'Download',
  remove: 'Remove',
  stop: 'Stop',
};

export const reportText = {
  title: 'Report of the year',
  sentence: (year: number, percent: string) =>
    `In ${year} the sites were up for ${percent} of the time.`,
  noneHeard: (year: number) => `In ${year} no site has been heard.`,
  counted: (sites: number, neverHeard: number) =>
    `${plural(sites, 'site counts', 'sites count')}, each by its hours from its first message on${neverHeard === 0 ? '' : `; ${plural(neverHeard, 'site', 'sites')} never heard ${neverHeard === 1 ? 'does' : 'do'} not count`}.`,
  none: 'No node has been put up yet.',
  period: (from: string, to: string) =>
    `From ${from} until before ${to} (UTC). Each row adds up to the whole period, or to what of it a node has been there.`,
  since: (moment: string) => `since ${moment} (UTC)`,
  year: 'Year',
  print: 'Print',
  csv: 'As CSV',
  site: 'Site',
  columns: {
    up: 'up',
    darkAsDesigned: 'dark as designed',
    fault: 'fault',
    link: 'link',
    clock: 'clock',
    work: 'off for work',
    unknown: 'unknown',
  },
  chart: 'Share of the year, by site',
  chartAxis: '0 % to 100 % of its time there within the period, left to right',
  table: 'Hours, and share of its time there within the period',
  restIsNone: 'What is not named is 0 h.',
  accepted: 'Gaps accepted beforehand',
  acceptedLine: (
    site: string,
    from: string,
    to: string,
    by: string,
    reason: string,
    hours: string,
  ) => `${site}, ${from} to ${to} UTC: accepted by ${by}, ${reason}. Dark for ${hours} h of it.`,
};
