import { DAY_MS, parseNodeName, type NodeName } from '@duskline/domain';
import {
  readFleetMemory,
  writeFleetMemory,
  type FleetMemory,
  type NodeMemory,
} from './fleet-file.ts';
import { fleet, type SimulatedSite } from './fleet.ts';
import { openNodeLink, type NodeLink } from './node-link.ts';
import { bench, nodeNameOf, provisionSite, type Door } from './provision.ts';
import { createNodePublisher, HISTORY_STEP_MS, type NodePublisher } from './publish-node.ts';
import { createSimulatedNode } from './simulated-node.ts';
import { tuneDrill } from './tune-drill.ts';
import { createWeather } from './weather.ts';

export interface FleetOptions {
  readonly door: Door;
  readonly mqttUrl: string;
  /** The file that remembers secrets and how far each node has got. */
  readonly memoryPath: string;
  readonly historyDays: number;
  readonly liveStepMs: number;
  readonly seed: number;
  /** How many of the twenty sites take part. */
  readonly siteCount: number;
  readonly say: (line: string) => void;
}

export interface RunningFleet {
  readonly bench: { readonly node: string; readonly secret: string };
  readonly stop: () => Promise<void>;
}

/** Nodes that catch up at the same time: enough to keep two cores busy. */
const AT_ONCE = 6;

/** Puts the fleet up if it is not there yet, sends its past, then lives on in real time until stopped. */
export async function runFleet(options: FleetOptions): Promise<RunningFleet> {
  const sites = fleet.slice(0, options.siteCount);
  const memory = readFleetMemory(options.memoryPath) ?? (await provisionFleet(options, sites));
  const weather = createWeather(memory.seed, memory.startMs);
  const nowMs = Date.now();
  const actors = sites.flatMap((site, index) => {
    const known = memory.nodes[site.id];
    if (known === undefined) return [];
    const history = { startMs: memory.startMs, drillMs: memory.drillMs };
    const tuning = tuneDrill(site, index, weather, history);
    const simulated = createSimulatedNode(site, index, weather, { ...history, tuning });
    const link = linkOf(options, known);
    const publisher = createNodePublisher(simulated, link, {
      node: nameOf(known.node),
      boot: known.boot + 1,
      sentToMs: known.sentToMs,
    });
    return [{ site, known, link, publisher }];
  });

  // Those that stay silent at the end go first: they can be judged while the others still tell their past.
  const silentFirst = [...actors].sort((a, b) => silentAtEnd(b.site) - silentAtEnd(a.site));
  await inParallel(AT_ONCE, silentFirst, (actor) => actor.publisher.catchUp(nowMs));
  const remember = (sentToMs: number) => keepProgress(options.memoryPath, memory, actors, sentToMs);
  remember(Math.floor(nowMs / HISTORY_STEP_MS) * HISTORY_STEP_MS);

  const timer = setInterval(() => {
    const atMs = Date.now();
    for (const { publisher } of actors) publisher.live(atMs);
    if (actors.every(({ link }) => link.unacknowledged() < 3)) remember(atMs);
  }, options.liveStepMs);

  const benchMemory = memory.nodes[bench.id];
  return {
    bench: { node: benchMemory?.node ?? bench.node, secret: benchMemory?.secret ?? '' },
    async stop() {
      clearInterval(timer);
      await Promise.all(actors.map(({ link }) => link.close()));
    },
  };
}

const silentAtEnd = ({ drill }: SimulatedSite): number =>
  drill?.kind === 'dark-as-designed' || drill?.kind === 'board-failed' ? 1 : 0;

interface Actor {
  readonly site: SimulatedSite;
  readonly known: NodeMemory;
  readonly link: NodeLink;
  readonly publisher: NodePublisher;
}

function keepProgress(
  path: string,
  memory: FleetMemory,
  actors: readonly Actor[],
  sentToMs: number,
) {
  const nodes = { ...memory.nodes };
  for (const { site, known, publisher } of actors)
    nodes[site.id] = { ...known, boot: publisher.boot(), sentToMs };
  writeFleetMemory(path, { ...memory, nodes });
}

async function provisionFleet(
  { door, memoryPath, historyDays, seed, say }: FleetOptions,
  sites: readonly SimulatedSite[],
): Promise<FleetMemory> {
  const drillMs = Date.now();
  const startMs = Math.floor((drillMs - historyDays * DAY_MS) / HISTORY_STEP_MS) * HISTORY_STEP_MS;
  const nodes: Record<string, NodeMemory> = {};
  const first = sites[0];
  if (first === undefined) throw new Error('The pretend fleet needs at least one site.');
  for (const site of [
    ...sites,
    {
      ...first,
      id: bench.id,
      name: bench.name,
      access: 'Key behind the tool board.',
      hazards: 'None beyond those of a workshop.',
    },
  ]) {
    const secret = await provisionSite(door, site);
    nodes[site.id] = { node: nodeNameOf(site.id), secret, boot: 0, sentToMs: startMs };
  }
  const memory: FleetMemory = { version: 1, seed, startMs, drillMs, nodes };
  writeFleetMemory(memoryPath, memory);
  say(`${sites.length} sites and the bench put up`);
  return memory;
}

function linkOf({ mqttUrl, say }: FleetOptions, known: NodeMemory): NodeLink {
  return openNodeLink({
    url: mqttUrl,
    node: nameOf(known.node),
    secret: known.secret,
    onFirstConnect: () => undefined,
    onFault: say,
  });
}

function nameOf(text: string): NodeName {
  const name = parseNodeName(text);
  if (name === undefined) throw new Error(`"${text}" is no node name.`);
  return name;
}

async function inParallel<T>(
  limit: number,
  items: readonly T[],
  work: (item: T) => Promise<void>,
): Promise<void> {
  const queue = [...items];
  const worker = async () => {
    for (let item = queue.shift(); item !== undefined; item = queue.shift()) await work(item);
  };
  await Promise.all(Array.from({ length: limit }, worker));
}
