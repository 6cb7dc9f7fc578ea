import type { ExportRequest } from './export-request.ts';
import type { ExportFrame, ExportSite } from './export-source.ts';
import { tellsEnergy } from './gather-energy.ts';
import type { GapCause } from './split-time.ts';
import { ELEVATION_STEP_M } from './tables/place.ts';
import { instantText } from './utc-text.ts';

export interface ReadMeFacts {
  readonly sites: readonly ExportSite[];
  readonly rows: number;
  readonly files: readonly {
    readonly path: string;
    readonly rows?: number;
    readonly title: string;
  }[];
  /** Time of all nodes in readings, and in gaps by cause. */
  readonly upMs: number;
  readonly gapMs: Readonly<Partial<Record<GapCause, number>>>;
  readonly warning: string;
  readonly swaps: readonly string[];
}

/** README.txt: all that an analyst would ask, in plain words. */
export function readMe(frame: ExportFrame, request: ExportRequest, facts: ReadMeFacts): string {
  const { sites, rows, files, upMs, gapMs, warning, swaps } = facts;
  const hours = (ms: number): string => `${(ms / 3_600_000).toFixed(1)} h`;
  // What has not been yet when it was made is neither reading nor gap.
  const untilMs = Math.min(request.toMs, frame.madeAtMs);
  const wholeMs = (untilMs - request.fromMs) * sites.filter(({ node }) => node).length;
  const sections: readonly (readonly [string, readonly string[]])[] = [
    [
      'What this is',
      [
        `${rows.toLocaleString('en-GB')} ${request.aggregate === undefined ? 'readings' : 'values'} of ${sites.length} ${sites.length === 1 ? 'site' : 'sites'}, from ${instantText(request.fromMs)} until before ${instantText(request.toMs)}.`,
        `Sites: ${sites.map(({ site }) => `${oneLine(site.name)} (${site.id})`).join(', ')}.`,
        `Version ${frame.version}, made at ${instantText(frame.madeAtMs)} for ${oneLine(frame.by)}. What was received later is not in it.`,
        `The file behind one link never changes. What was asked for: ${frame.query}`,
        frame.version === 1
          ? 'Changed since the last version: this is the first of this query.'
          : 'Changed since the last version: readings received, tests and limits changed since then; compare sha-256 of the files in datapackage.json.',
      ],
    ],
    [
      'Licence, citation, contact',
      [
        `Licence: ${oneLine(request.licence ?? 'not stated; ask before you publish')}.`,
        `Cite as: ${frame.citation}`,
        request.contact === undefined
          ? `Contact: no address was given; ${oneLine(frame.by)} made this export.`
          : `Contact: ${oneLine(request.contact)}.`,
      ],
    ],
    ['May I publish the positions?', [positionWords(request)]],
    ['Is anything in it about people?', peopleWords(request)],
    [
      'Units and time',
      [
        'The unit stands beside every value (column unit) and in metrics.csv, there in four notations. An empty unit means that the metric has none: it is a count, a code, a share, or a yes or no (1 or 0).',
        'All times are UTC (RFC 3339, ending in Z). Columns ending in _local are by the clock of the site, with its offset; the zone is in sites.csv.',
        'time_quality says how far a time can be trusted: synced, held-over (clock ran on by itself), re-dated (the server put it right), unsure (do not put it on a time axis).',
      ],
    ],
    [
      'Gaps',
      [
        `WARNING. ${warning}`,
        `Data ${hours(upMs)} + gaps ${hours(Object.values(gapMs).reduce((sum, ms) => sum + ms, 0))} = ${hours(wholeMs)}, the whole period of all nodes${untilMs < request.toMs ? ` up to ${instantText(untilMs)}, when this was made` : ''}.`,
        ...Object.entries(gapMs).map(([cause, ms]) => `${cause}: ${hours(ms)}.`),
        'gaps.csv has every gap with its cause, how sure that is, and the evidence.',
      ],
    ],
    ['Quality', qualityWords(request)],
    ['Missing readings', missingWords(request)],
    ['Sampling and averaging', averagingWords(request)],
    [
      'Were sensors changed?',
      swaps.length === 0
        ? ['No part was fitted or taken out in the period. parts.csv has what is there.']
        : [...swaps, 'parts.csv has serials, dates and calibrations.'],
    ],
    [
      'Known problems',
      [
        'Up means that the node was heard: single readings may be missing in it.',
        'part_id is empty where a metric cannot be told to be of exactly one part.',
        'The height of sensors is not recorded.',
      ],
    ],
    [
      'Files',
      files.map(
        ({ path, rows: count, title }) =>
          `${path}: ${title}${count === undefined ? '' : `, ${count.toLocaleString('en-GB')} rows`}`,
      ),
    ],
    [
      'For machines',
      [
        'datapackage.json (Data Package v2) describes every file, field, unit and key, with sizes and sha-256.',
        'CSV: UTF-8, comma, dot, CRLF, empty = missing. A text that a spreadsheet might run begins with an apostrophe; it is not part of the text.',
      ],
    ],
  ];
  return `${sections
    .map(
      ([title, lines]) =>
        `${title.toUpperCase()}\r\n${lines.map((line) => `${line}\r\n`).join('')}`,
    )
    .join('\r\n')}`;
}

/** A name with a line break in it must not make a heading of its own. */
const oneLine = (text: string): string => text.replaceAll(/[\r\n\t\0]+/g, ' ');

function positionWords({ positions }: ExportRequest): string {
  switch (positions) {
    case 'exact':
      return 'Positions are exact. Ask whoever gave you this before you publish them: they lead to equipment nobody watches.';
    case 'blurred':
      return `Positions are blurred to a cell of 0.01° (sites.csv, position_blur, in metres), and elevation is rounded to ${ELEVATION_STEP_M} m: these may be published with the data.`;
    case 'left-out':
      return 'Positions are left out.';
  }
}

function peopleWords({ names, contact }: ExportRequest): readonly string[] {
  return [
    names
      ? 'Yes. events.csv has who did what and when (visits with their ways and times, alerts taken), gaps.csv who accepted a gap: full names, as whoever made this export asked for. They are personal data: take them out before you publish, or ask those people.'
      : 'events.csv has what people did and when, gaps.csv which gaps were accepted, with roles in place of names. Roles and times may still tell somebody of a small group who it was; what people typed into notes may name others. Read events.csv before you publish it.',
    ...(contact === undefined ? [] : ['The contact above was given for this package.']),
  ];
}

function qualityWords({ flags, aggregate }: ExportRequest): readonly string[] {
  return [
    'qc_flag: 1 passed, 2 not tested yet, 3 suspect, 4 failed (QARTOD). qc_tests_failed names the tests, qc_rules.csv their limits.',
    'No value was changed or taken out because of its flag.',
    `Asked for were ${aggregate === undefined ? 'readings' : 'values made of readings'} with the flags ${flags.join(', ')}: those with another flag are not in this package.`,
  ];
}

function missingWords({ wide }: ExportRequest): readonly string[] {
  return [
    'A reading that is missing has no row in the long table (observations): no row and no empty value stands for it. Look in gaps.csv before you count or average. A gap that began before the first day of this package is cut there; one that lasts is cut where the package ends.',
    ...(wide
      ? [
          'In the wide table (observations_wide) a row is one time of one node: a metric that was not read then has an empty cell.',
        ]
      : []),
  ];
}

function averagingWords(request: ExportRequest): readonly string[] {
  const { aggregate, flags, fromMs, toMs } = request;
  if (aggregate === undefined)
    return ['Readings as they were measured, one a row, with all digits that were sent.'];
  const day =
    aggregate.length === '1d'
      ? aggregate.day === 'civil'
        ? 'A day is the civil day of the site: on days when the clocks change it has 23 or 25 hours (interval_s). What was asked for begins and ends by UTC, so the first and the last row of a site may be a part of a day.'
        : 'A day is the day of UTC.'
      : 'Intervals are aligned to UTC.';
  return [
    `Intervals of ${aggregate.length}; observed_at is the START of the interval. ${day}`,
    `The first row of a site covers no time before ${instantText(fromMs)}, the last none from ${instantText(toMs)} on: an interval that is cut there begins or ends there, and interval_s and n_expected are of what is left.`,
    'Means; sums for rain; last values for counters; for directions the mean of unit vectors. The column aggregation says which.',
    `Only readings with the flags ${flags.join(', ')} and a time that can be trusted are in them; qc_flag is the worst among them.`,
    'Completeness is n_samples ÷ n_expected; n_expected follows from the gap the node kept: the median of the gaps within the interval, where fewer than four readings came the one of the interval before, else the usual gap the node is set to. An interval without any reading has no row.',
    ...(tellsEnergy(request) ? [ENERGY] : []),
  ];
}

const ENERGY =
  'energy.csv has harvest and load of each interval in Wh: each reading’s power until the next reading, but where that is more than two gaps off, for one gap (the median of the node’s last five). The hours heard stand beside them; what was not heard is not in the sum.';
