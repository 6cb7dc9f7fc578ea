import { migrateStore, startEmbeddedPostgres } from '@duskline/store';
import { createDatabase, dropDatabase } from '@duskline/test-harness';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import postgres from 'postgres';
import { fleetWorld } from './cases/fleet-world.ts';
import { silenceWorld } from './cases/silence-world.ts';
import { springWorld } from './cases/spring-world.ts';
import { winterWorld } from './cases/winter-world.ts';
import { judgeDrill } from './judge-drill.ts';
import type { WorldPlan } from './plan.ts';
import { missedBy, printDrill } from './print-drill.ts';
import { runWorld, type WorldOutcome } from './run-world.ts';

const USAGE = `npm run drill -- [--json] [--seeds N] [--cases a,b] [--days N] [--quick]
  --seeds N    weathers to live through (3; with --quick 1; 0: only the twenty sites)
  --cases a,b  only these cases, by their names in the table
  --days N     days of the twenty sites (90; with --quick none)`;

const { values } = parseArgs({
  options: {
    json: { type: 'boolean', default: false },
    quick: { type: 'boolean', default: false },
    seeds: { type: 'string' },
    cases: { type: 'string' },
    days: { type: 'string' },
    help: { type: 'boolean', default: false },
  },
});
if (values.help) {
  process.stdout.write(`${USAGE}\n`);
  process.exit(0);
}
const number = (text: string | undefined, fallback: number): number => {
  const value = text === undefined ? fallback : Number(text);
  if (Number.isInteger(value) && value >= 0) return value;
  throw new Error(`"${text}" is no whole number.\n${USAGE}`);
};
const seeds = number(values.seeds, values.quick ? 1 : 3);
const days = number(values.days, values.quick || values.cases !== undefined ? 0 : 90);
const isWhole = values.cases === undefined && seeds > 0;
const wanted = values.cases?.split(',').map((name) => name.trim());

/** Each world has a pool of connections of its own, and the embedded Postgres sixty in all. */
const WORLDS_AT_ONCE = 4;

const folder = mkdtempSync(join(tmpdir(), 'duskline-drill-'));
const server = await startEmbeddedPostgres({ dataDir: folder, durable: false });
let status: number;
try {
  const template = await createDatabase(server.url, 'drill_template');
  await migrateStore(template);
  const plans = [...Array(seeds).keys()].flatMap((seed) =>
    [springWorld, silenceWorld, winterWorld].map((make) => only(make(seed + 1), wanted)),
  );
  // The longest first, so that nothing waits for it alone at the end.
  const outcomes = await liveAll([
    ...(days === 0 ? [] : [fleetWorld(20_261, days)]),
    ...plans.filter(hasCases),
  ]);
  const long = outcomes.find(({ plan }) => plan.name === 'the fleet');
  const worlds = outcomes.filter((world) => world !== long);
  const report = judgeDrill(worlds, long);
  if (values.json) process.stdout.write(`${JSON.stringify(report)}\n`);
  else printDrill(report, outcomes, isWhole);
  const failed = outcomes.some(({ failures }) => failures.length > 0);
  status = missedBy(report, isWhole).length > 0 || failed ? 1 : 0;
} finally {
  await server.stop();
  rmSync(folder, { recursive: true, force: true });
}
process.exit(status);

async function liveAll(plans: readonly WorldPlan[]): Promise<readonly WorldOutcome[]> {
  const outcomes: WorldOutcome[] = [];
  const waiting = [...plans.entries()];
  const lane = async (): Promise<void> => {
    for (let next = waiting.shift(); next !== undefined; next = waiting.shift())
      outcomes[next[0]] = await live(next[1]);
  };
  await Promise.all(Array.from({ length: WORLDS_AT_ONCE }, lane));
  return outcomes;
}

/** A database of its own for every world. */
async function live(plan: WorldPlan): Promise<WorldOutcome> {
  const name = `drill_${plan.name.replaceAll(' ', '_')}_${plan.seed}`;
  const url = await createDatabase(server.url, name, 'drill_template');
  const sql = postgres(url, { onnotice: () => undefined, max: 1 });
  try {
    return await runWorld(plan, { url, sql });
  } finally {
    await sql.end();
    await dropDatabase(server.url, name);
  }
}

/** The world without the cases nobody asked for; whoever only stands beside them stays. */
function only(plan: WorldPlan, names: readonly string[] | undefined): WorldPlan {
  if (names === undefined) return plan;
  const isWanted = (name: string | undefined) => name === undefined || names.includes(name);
  const { fleetCase, ...rest } = plan;
  return {
    ...rest,
    nodes: plan.nodes.filter(
      ({ name, partOf, fires }) =>
        isWanted(partOf ?? name) && (name !== undefined || fires === undefined),
    ),
    ...(fleetCase !== undefined && names.includes(fleetCase.name) ? { fleetCase } : {}),
  };
}

function hasCases({ nodes, fleetCase }: WorldPlan): boolean {
  return fleetCase !== undefined || nodes.some(({ name }) => name !== undefined);
}
