import { parseArgs } from 'node:util';
import { openDataFolder, stationFiles } from '../open-weather.ts';
import { printTable } from './print-table.ts';
import { runSites } from './run-sites.ts';
import { type ScoreTable, scoreTable } from './score-table.ts';

const USAGE = `npm run backtest -- --data <folder> [--json] [--hidden | --both] [--outside-days 3] [--sites name,name]
                   [--every 3] [--paths 300] [--resamples 1000] [--history-days 60] [--trap]

Replays real irradiance through simulated nodes of six sizes a site, hides the future, and grades the outlooks.
--data           folder of records; else DUSKLINE_OPEN_DATA, else shared/data/open beside the checkout
--hidden         the truth hides panel scale, capacity and tilt, and the charge reading errs by 5 %
--both           plain and hidden; --json then prints { plain, hidden }
--outside-days   that many true days are given as an outside forecast
--sites          only files whose name contains one of these
--every          days between outlooks
--history-days   the forecaster's own past; records shorter than that give what they have
--trap           sets beside it the same chain without charge of the past, so that a full battery's hours pass for dull ones,
                 and with nothing but its own days to draw from`;

const { values } = parseArgs({
  options: {
    data: { type: 'string' },
    json: { type: 'boolean', default: false },
    hidden: { type: 'boolean', default: false },
    both: { type: 'boolean', default: false },
    'outside-days': { type: 'string', default: '0' },
    sites: { type: 'string' },
    every: { type: 'string', default: '3' },
    'history-days': { type: 'string', default: '60' },
    trap: { type: 'boolean', default: false },
    paths: { type: 'string', default: '300' },
    resamples: { type: 'string', default: '1000' },
    help: { type: 'boolean', default: false },
  },
});

function whole(name: string, text: string, least: number): number {
  const number = Number(text);
  if (!Number.isInteger(number) || number < least)
    throw new RangeError(`--${name} is a whole number from ${least}: ${text}`);
  return number;
}

async function run(hidden: boolean, folder: string, files: readonly string[]) {
  const sites = await runSites(files, {
    folder,
    hidden,
    outsideDays: whole('outside-days', values['outside-days'], 0),
    everyDays: whole('every', values.every, 1),
    paths: whole('paths', values.paths, 50),
    historyDays: whole('history-days', values['history-days'], 1),
    withTrap: values.trap,
  });
  const resamples = whole('resamples', values.resamples, 0);
  const designs = [...new Set(sites.flatMap(({ outlooks }) => outlooks.map((one) => one.design)))];
  const bySite: Record<string, ScoreTable> = {};
  for (const site of sites) bySite[site.site] = scoreTable([site], resamples);
  const byDesign: Record<string, ScoreTable> = {};
  for (const design of designs.sort())
    byDesign[design] = scoreTable(
      sites.map((site) => ({
        site: site.site,
        outlooks: site.outlooks.filter((one) => one.design === design),
        returns: site.returns.filter((one) => one.design === design),
      })),
      resamples,
    );
  const refused = sites.reduce((sum, site) => sum + site.refused, 0);
  return { ...scoreTable(sites, resamples), hidden, refused, bySite, byDesign };
}

if (values.help) {
  console.info(USAGE);
} else {
  try {
    const folder = values.data ?? openDataFolder();
    const wanted = values.sites?.split(',');
    const files = stationFiles(folder).filter(
      (file) => wanted === undefined || wanted.some((part) => file.includes(part)),
    );
    if (files.length === 0)
      throw new Error(`No records in ${folder}${wanted ? ` for ${wanted.join(', ')}` : ''}.`);
    const modes = values.both ? [false, true] : [values.hidden];
    const results = [];
    for (const hidden of modes) results.push(await run(hidden, folder, files));
    if (values.json)
      console.info(
        JSON.stringify(values.both ? { plain: results[0], hidden: results[1] } : results[0]),
      );
    else results.forEach(printTable);
  } catch (error) {
    console.error(`${error instanceof Error ? error.message : String(error)}\n\n${USAGE}`);
    process.exitCode = 1;
  }
}
