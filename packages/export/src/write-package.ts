import type { MetricKey, Part } from '@duskline/domain';
import {
  dataPackage,
  observationFields,
  observationKeys,
  wideFields,
  type DescribedFile,
} from './data-package.ts';
import { darkSeason, gapWarning, joinSeasons, type DarkSeason } from './dark-season.ts';
import { SPREADSHEET_ROWS } from './export-request.ts';
import type { ExportSource } from './export-source.ts';
import { csvLines } from './line-format.ts';
import { readMe } from './read-me.ts';
import { nameHider, showNames, type NameHider } from './hide-names.ts';
import { monthFiles } from './month-files.ts';
import { longPages, widePages, type OnSamples } from './reading-pages.ts';
import type { LinePage } from './raw-lines.ts';
import { gatherEnergy, tellsEnergy } from './gather-energy.ts';
import { splitPages } from './split-pages.ts';
import { splitTime, type GapCause } from './split-time.ts';
import { energyTable } from './tables/energy-table.ts';
import { eventRows, eventsTable } from './tables/events-table.ts';
import { forecastRows, forecastsTable } from './tables/forecasts-table.ts';
import { gapRows, gapsTable } from './tables/gaps-table.ts';
import { metricsTable } from './tables/metrics-table.ts';
import { partsTable } from './tables/parts-table.ts';
import { ruleRows, rulesTable } from './tables/rules-table.ts';
import { sitesGeoJson, sitesTable } from './tables/sites-table.ts';
import { tableCsv, type Cell, type Field, type Table } from './tables/table.ts';
import { instantText } from './utc-text.ts';
import type { WriteDeps } from './write-deps.ts';
import { wideHeading } from './wide-lines.ts';
import { wholeText, zipWriter, type ZipWriter } from './zip-file.ts';

interface PackageDeps {
  readonly metrics: readonly MetricKey[];
  readonly onSamples: OnSamples;
  readonly onRows: (rows: number) => void;
}

/** The package of many files: readings first, then what explains them, at last the descriptor that counts them all. */
export async function writePackage(deps: WriteDeps, more: PackageDeps): Promise<void> {
  const { frame, request, out, signal } = deps;
  const energy = tellsEnergy(request) ? gatherEnergy(deps.source, request) : undefined;
  const { source } = deps;
  const tapped = { ...deps, source: energy?.source ?? source };
  const zip = zipWriter(out);
  const files: DescribedFile[] = [];
  let rows = 0;
  const onRows = (count: number): void => {
    rows += count;
    more.onRows(count);
  };
  if (request.format === 'parquet') await addMonths(zip, tapped, { ...more, onRows }, files);
  else await addReadings(zip, { ...tapped, plain: source }, { ...more, onRows }, files);
  signal.throwIfAborted();

  const told = await tellSites(deps);
  const tables: readonly Table[] = [
    ...(energy === undefined ? [] : [energyTable(energy.rows)]),
    metricsTable(more.metrics, request),
    sitesTable(source.sites, request.positions),
    partsTable(told.parts),
    gapsTable(told.gaps),
    eventsTable(told.events),
    rulesTable(told.rules),
    ...(request.forecasts ? [forecastsTable(told.forecasts)] : []),
  ];
  for (const table of tables) files.push(await addTable(zip, table));
  files.push({
    ...(await zip.add('sites.geojson', wholeText(sitesGeoJson(source.sites, request.positions)))),
    title: 'Sites as GeoJSON',
    description: 'RFC 7946, WGS 84, longitude first; positions as in sites.csv.',
  });
  const readme = readMe(frame, request, {
    sites: source.sites,
    rows,
    files,
    upMs: told.upMs,
    gapMs: told.gapMs,
    warning: gapWarning(joinSeasons(told.seasons)),
    swaps: swapsOf(told.parts, request),
  });
  files.unshift({
    ...(await zip.add('README.txt', wholeText(readme))),
    title: 'Read this first',
    description: 'What this is, and all that is usually asked about it.',
  });
  await zip.add(
    'datapackage.json',
    wholeText(dataPackage(frame, request, { sites: source.sites, files })),
  );
  await zip.end();
}

async function addTable(zip: ZipWriter, table: Table): Promise<DescribedFile> {
  const { title, description, fields, primaryKey, foreignKeys } = table;
  return {
    ...(await zip.add(`${table.name}.csv`, wholeText(tableCsv(table)))),
    title,
    description,
    fields,
    rows: table.rows.length,
    ...(primaryKey === undefined ? {} : { primaryKey }),
    ...(foreignKeys === undefined ? {} : { foreignKeys }),
  };
}

async function addReadings(
  zip: ZipWriter,
  { source, request, plain }: WriteDeps & { readonly plain: ExportSource },
  { metrics, onSamples, onRows }: PackageDeps,
  files: DescribedFile[],
): Promise<void> {
  await addSplit(zip, files, {
    name: 'observations',
    pages: counted(longPages(source, request, csvLines, onSamples), onRows),
    heading: csvLines.heading({
      localTime: request.localTime,
      expected: request.aggregate !== undefined,
    }),
    spreadsheet: request.spreadsheet,
    title:
      request.aggregate === undefined ? 'Readings, one a row' : 'Values of intervals, one a row',
    description: 'Long form, by site and time.',
    fields: observationFields(request),
    ...observationKeys,
  });
  if (!request.wide) return;
  await addSplit(zip, files, {
    name: 'observations_wide',
    pages: widePages(plain, request, metrics, onSamples),
    heading: wideHeading(metrics, request),
    spreadsheet: request.spreadsheet,
    title: 'The same, one row for each time',
    description:
      'A column for each metric and one for its flag; units are in metrics.csv. Readings of unsure time are in the long form only.',
    fields: wideFields(metrics, request),
  });
}

async function addSplit(
  zip: ZipWriter,
  files: DescribedFile[],
  what: {
    readonly name: string;
    readonly pages: AsyncGenerator<LinePage>;
    readonly heading: string;
    readonly spreadsheet: boolean;
    readonly title: string;
    readonly description: string;
    readonly fields: readonly Field[];
    readonly foreignKeys?: Table['foreignKeys'];
  },
): Promise<void> {
  const { name, pages, heading, spreadsheet, ...described } = what;
  const split = splitPages(pages, heading, spreadsheet ? SPREADSHEET_ROWS - 1 : Infinity);
  try {
    for (let number = 1; ; number += 1) {
      const content = await split.next();
      if (content === undefined) return;
      // A spreadsheet's worth keeps its plain name; the next ones are numbered.
      const path = number === 1 ? `${name}.csv` : `${name}_${String(number).padStart(3, '0')}.csv`;
      files.push({ ...(await zip.add(path, content)), ...described, rows: split.rows });
    }
  } finally {
    await pages.return(undefined);
  }
}

async function* counted(
  pages: AsyncGenerator<LinePage>,
  onRows: (rows: number) => void,
): AsyncGenerator<LinePage> {
  for await (const page of pages) {
    onRows(page.rows);
    yield page;
  }
}

async function addMonths(
  zip: ZipWriter,
  { source, request }: WriteDeps,
  { onSamples, onRows }: PackageDeps,
  files: DescribedFile[],
): Promise<void> {
  for await (const { month, siteId, file } of monthFiles(source, request, onSamples)) {
    const { rows } = file;
    files.push({
      ...(await zip.add(`observations/${siteId}_${month}.parquet`, file.chunks())),
      title: `Readings of ${siteId}, ${month}`,
      description:
        'Long form, the columns of observations.csv, sorted by metric and time. Times are instants in UTC; units also in the key-value metadata.',
      rows,
    });
    onRows(rows);
  }
}

/** Everything of the sites that is small, gathered one site after the other. */
async function tellSites({ source, request, signal, frame }: WriteDeps) {
  const hider = request.names ? showNames : nameHider(source.people);
  // What has not been yet is no gap.
  const past = { fromMs: request.fromMs, toMs: Math.min(request.toMs, frame.madeAtMs) };
  const parts: Part[] = [];
  const gaps: (readonly Cell[])[] = [];
  const events: (readonly Cell[])[] = [];
  const rules: (readonly Cell[])[] = [];
  const forecasts: (readonly Cell[])[] = [];
  const seasons: DarkSeason[] = [];
  const gapMs: Partial<Record<GapCause, number>> = {};
  let upMs = 0;
  for (const { site, node } of source.sites) {
    signal.throwIfAborted();
    parts.push(
      ...(await source.parts(site)).map((part) => ({ ...part, notes: hider.text(part.notes) })),
    );
    const intervals = node === undefined ? [] : await source.intervals(node.id);
    events.push(
      ...eventRows(
        {
          siteId: site.id,
          events: await source.events(site),
          alerts: await source.alerts(site),
          states: intervals,
        },
        { fromMs: request.fromMs, madeAtMs: frame.madeAtMs },
      ).map((row) => withoutNames(row, EVENT_COLUMNS, hider)),
    );
    if (node === undefined) continue;
    const stretches = splitTime(past, intervals, {
      accepted: await source.acceptedGaps(site),
      silence: await source.silence(node.id),
    });
    gaps.push(
      ...gapRows({ site, node }, stretches).map((row) => withoutNames(row, GAP_COLUMNS, hider)),
    );
    for (const { fromMs, toMs, gap } of stretches)
      if (gap === undefined) upMs += toMs - fromMs;
      else gapMs[gap.cause] = (gapMs[gap.cause] ?? 0) + toMs - fromMs;
    const season = darkSeason(stretches, site.position.latitudeDeg);
    if (season !== undefined) seasons.push(season);
    rules.push(...ruleRows({ site, node }, await source.rules(node.id), request));
    if (request.forecasts)
      forecasts.push(...forecastRows({ site, node }, await source.outlooks(node.id)));
  }
  parts.sort((a, b) => Number(a.id) - Number(b.id));
  return { parts, gaps, events, rules, forecasts, seasons, gapMs, upMs };
}

/** Cells of a row that are written by or about people. */
interface NameColumns {
  readonly text: readonly string[];
  readonly name: readonly string[];
}
const EVENT_COLUMNS: readonly string[] = eventsTable([]).fields.map(({ name }) => name);
const GAP_COLUMNS: readonly string[] = gapsTable([]).fields.map(({ name }) => name);
const ABOUT_PEOPLE: NameColumns = {
  text: ['text', 'evidence', 'accepted_reason'],
  name: ['by', 'accepted_by'],
};

const withoutNames = (
  row: readonly Cell[],
  columns: readonly string[],
  hider: NameHider,
): readonly Cell[] =>
  row.map((cell, i) => {
    const column = columns[i] ?? '';
    if (ABOUT_PEOPLE.name.includes(column)) return hider.name(cell);
    return ABOUT_PEOPLE.text.includes(column) ? hider.text(cell) : cell;
  });

function swapsOf(
  parts: readonly Part[],
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): readonly string[] {
  const inside = (ms: number | undefined): ms is number =>
    ms !== undefined && ms >= fromMs && ms < toMs;
  const name = (part: Part): string =>
    `${part.kind} ${part.maker} ${part.serial} (part ${part.id}) at ${part.siteId}`.replaceAll(
      /[\r\n\t\0]+/g,
      ' ',
    );
  return parts.flatMap((part) => [
    ...(inside(part.fittedAtMs)
      ? [`${instantText(part.fittedAtMs)}: ${name(part)} was fitted.`]
      : []),
    ...(inside(part.removedAtMs)
      ? [
          `${instantText(part.removedAtMs)}: ${name(part)} was taken out${part.replacedBy === undefined ? '' : `, part ${part.replacedBy} came in its place`}.`,
        ]
      : []),
  ]);
}
