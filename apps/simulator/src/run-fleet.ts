import { DAY_MS, parseNodeName, SECOND_MS, type NodeName } from '@duskline/domain';
import { openFleetFile, type FleetKeeper, type NodeMemory } from './fleet-file.ts';
import { fleet, workshopPosition, type SimulatedSite } from './fleet.ts';
import { openNodeLink, type NodeLink } from './node-link.ts';
import { bench, nodeNameOf, provisionSite, type Door } from './provision.ts';
import { encodeSettingsInForce } from '@duskline/wire';
import { createNodePublisher, HISTORY_STEP_MS, type NodePublisher } from './publish-node.ts';
import { createSettingsAnswer } from './settings-answer.ts';
import { createSimulatedNode, firstState } from './simulated-node.ts';
import { surroundingsOf } from './surroundings.ts';
import { tuneDrill } from './tune-drill.ts';
import { createWeather, type Weather } from './weather.ts';

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
/** After the past is told, every node has said something live within this. */
const FIRST_LIVE_MS = 1.5 * SECOND_MS;
const SAVE_EVERY_MS = 5 * SECOND_MS;
const SETTLE_WITHIN_MS = 1.5 * SECOND_MS;
const CLOSE_WITHIN_MS = SECOND_MS;

interface Actor {
  readonly site: SimulatedSite;
  readonly link: NodeLink;
  readonly publisher: NodePublisher;
  /** Says what is in force when that has changed by itself. */
  readonly look: () => void;
}

/** Puts the fleet up if it is not there yet, sends its past, then lives on in real time until stopped. */
export async function runFleet(options: FleetOptions): Promise<RunningFleet> {
  const sites = fleet.slice(0, options.siteCount);
  const keeper = openFleetFile(options.memoryPath, () => {
    const drillMs = Date.now();
    const beginMs = drillMs - options.historyDays * DAY_MS;
    const startMs = Math.floor(beginMs / HISTORY_STEP_MS) * HISTORY_STEP_MS;
    return { version: 2, seed: options.seed, startMs, drillMs, nodes: {} };
  });
  await provisionFleet(options, sites, keeper);
  const { seed, startMs } = keeper.memory();
  const weather = createWeather(seed, startMs);
  const actors = sites.map((site, index) => createActor({ options, keeper, weather, site, index }));

  const saving = setInterval(keeper.save, SAVE_EVERY_MS);
  const nowMs = Date.now();
  // Those that stay silent at the end go first: they can be judged while the others still tell their past.
  const silentFirst = [...actors].sort((a, b) => silentAtEnd(b.site) - silentAtEnd(a.site));
  await inParallel(AT_ONCE, silentFirst, (actor) => actor.publisher.catchUp(nowMs));
  keeper.save();
  const hush = liveOn(actors, options.liveStepMs);

  const onBench = keeper.memory().nodes[bench.id];
  return {
    bench: { node: onBench?.node ?? bench.node, secret: onBench?.secret ?? '' },
    async stop() {
      hush();
      const settled = Promise.all(actors.map(({ link }) => link.room(1)));
      await Promise.race([settled, pause(SETTLE_WITHIN_MS)]);
      clearInterval(saving);
      keeper.save();
      await Promise.all(actors.map(({ link }) => link.close(CLOSE_WITHIN_MS)));
    },
  };
}

/** Every node by a clock of its own, spread over the gap: a real fleet does not speak in one instant. */
function liveOn(actors: readonly Actor[], stepMs: number): () => void {
  const timers = new Set<NodeJS.Timeout>();
  actors.forEach(({ publisher, look }, i) => {
    const share = i / actors.length;
    const firstMs = Math.min(FIRST_LIVE_MS, stepMs) * share;
    const at = (afterMs: number, nextMs: number) => {
      const timer = setTimeout(() => {
        timers.delete(timer);
        publisher.live(Date.now());
        look();
        at(nextMs, stepMs);
      }, afterMs);
      timers.add(timer);
    };
    at(firstMs, stepMs * (1 - share) + firstMs);
  });
  return () => timers.forEach((timer) => clearTimeout(timer));
}

const silentAtEnd = ({ drill }: SimulatedSite): number =>
  drill?.kind === 'dark-as-designed' || drill?.kind === 'board-failed' ? 1 : 0;

function createActor({
  options,
  keeper,
  weather,
  site,
  index,
}: {
  readonly options: FleetOptions;
  readonly keeper: FleetKeeper;
  readonly weather: Weather;
  readonly site: SimulatedSite;
  readonly index: number;
}): Actor {
  const { seed, startMs, drillMs } = keeper.memory();
  const known = knownNode(keeper, site);
  const life = { seed, drillMs, surroundings: surroundingsOf(site, index, weather, drillMs) };
  const tuning = known.state === undefined ? tuneDrill(site, { ...life, startMs }) : known.tuning;
  const from = known.state ?? firstState(site, startMs);
  if (tuning !== undefined) keeper.update(site.id, { ...known, tuning });

  const node = nameOf(known.node);
  const settings = createSettingsAnswer({
    ownGapS: options.liveStepMs / SECOND_MS,
    kept: known.settings,
    onKeep(request) {
      keeper.update(site.id, { ...knownNode(keeper, site), settings: request });
      keeper.save();
    },
  });
  let said = '';
  const answer = (): void => {
    const inForce = settings.inForce(Date.now());
    if (inForce === undefined) return;
    said = JSON.stringify(inForce);
    link.answer(encodeSettingsInForce(node, inForce));
  };
  const link = openNodeLink({
    url: options.mqttUrl,
    node,
    secret: known.secret,
    onFault: options.say,
    // Asked again at every connection, and answered again.
    onSettings(bytes) {
      const fault = settings.receive(bytes);
      if (fault !== undefined) return options.say(`${node}: ${fault}`);
      answer();
    },
  });
  const simulated = createSimulatedNode(site, { ...life, tuning, from, settings });
  const publisher = createNodePublisher(simulated, link, {
    node,
    boot: known.boot,
    publishEveryMs: settings.publishEveryMs,
    onProgress({ boot, state }) {
      const before = knownNode(keeper, site);
      keeper.update(site.id, { ...before, boot, ...(state === undefined ? {} : { state }) });
      if (boot !== before.boot) keeper.save();
    },
  });
  // Thrift ends by itself, and that is said, too.
  const look = (): void => {
    if (said !== '' && JSON.stringify(settings.inForce(Date.now())) !== said) answer();
  };
  return { site, link, publisher, look };
}

function knownNode(keeper: FleetKeeper, site: SimulatedSite): NodeMemory {
  const known = keeper.memory().nodes[site.id];
  if (known === undefined) throw new Error(`The node of ${site.name} was not put up.`);
  return known;
}

/** Puts up what is not there yet, and writes down each secret before the next is asked for. */
async function provisionFleet(
  { door, say }: FleetOptions,
  sites: readonly SimulatedSite[],
  keeper: FleetKeeper,
): Promise<void> {
  const [first] = sites;
  if (first === undefined) throw new Error('The pretend fleet needs at least one site.');
  const workshop = {
    ...first,
    id: bench.id,
    name: bench.name,
    position: workshopPosition,
    access: 'Key behind the tool board.',
    hazards: 'None beyond those of a workshop.',
  };
  const absent = [...sites, workshop].filter(({ id }) => keeper.memory().nodes[id] === undefined);
  for (const site of absent) {
    // The bench has no past.
    const sinceMs = site.id === bench.id ? keeper.memory().drillMs : keeper.memory().startMs;
    const { secret, wasThere } = await provisionSite(door, site, sinceMs);
    // Numbers that a forgotten run may have used are left behind by counting from the clock.
    const boot = wasThere ? Math.floor((Date.now() - Date.UTC(2020, 0, 1)) / SECOND_MS) : 0;
    keeper.update(site.id, { node: nodeNameOf(site.id), secret, boot });
    keeper.save();
  }
  if (absent.length > 0) say(`${absent.length} sites put up, the bench among them`);
}

function nameOf(text: string): NodeName {
  const name = parseNodeName(text);
  if (name === undefined) throw new Error(`"${text}" is no node name.`);
  return name;
}

const pause = (ms: number): Promise<void> =>
  new Promise((resolve) => setTimeout(resolve, ms).unref());

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
