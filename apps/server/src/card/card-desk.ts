import type { CardPort, CardRefusal } from '@duskline/api';
import type { CardImportJson, CardSettingsJson } from '@duskline/contract';
import { failed, metric, ok, type NodeId, type Result, type Sample } from '@duskline/domain';
import { CardRefused, isZone, MOST_TEXT_BYTES } from '@duskline/intake';
import type { CardImport, Store } from '@duskline/store';
import type { Logger } from 'pino';
import { createCardFiles } from './card-files.ts';
import { cardImportJson, previewJson, settingsFrom } from './card-json.ts';
import { lookAtStore, mergeRule } from './look-at-store.ts';
import { planAfter, readCard, type ReadDeps, type ReadText } from './read-card.ts';

/** Samples merged at once: a transaction of some tenths of a second, in which the node's own messages wait. */
const BATCH_SAMPLES = 10_000;
/** Imports at work at the same time; the others wait to be asked again. */
const AT_ONCE = 2;
const LISTED = 50;
/** So many differences, and more of them than agreements, are no differences: the times are wrong. */
const HOPELESS_CONFLICTS = 2000;

export interface CardDeskDeps {
  readonly store: Pick<Store, 'cardImports'>;
  readonly folder: string;
  readonly now: () => number;
  readonly log: Logger;
  readonly onNews: (nodeId: NodeId) => void;
}

export interface CardDesk extends CardPort {
  /** Imports that a stop of the server broke off may go on. */
  readonly recover: () => Promise<void>;
  readonly close: () => Promise<void>;
}

interface Job {
  readonly stage: CardImportJson['stage'];
  readonly note: string | null;
  readonly progress: CardImportJson['progress'];
  readonly preview: CardImportJson['preview'];
  /** What was read, for the storing. */
  readonly texts?: readonly ReadText[];
  readonly work?: { readonly controller: AbortController; readonly done: Promise<void> };
}

const refuse = (code: CardRefusal['code'], detail: string): Result<never, CardRefusal> =>
  failed({ code, detail });
const unknown = refuse('card-import-unknown', 'There is no card import of this number.');
const idle: Job = { stage: 'bringing', note: null, progress: null, preview: null };

/** The store knows what is stored, this process what is looked at. */
function stageOf({ state }: CardImport, job: Job | undefined): CardImportJson['stage'] {
  if (state === 'done') return 'done';
  if (state === 'storing') return job?.stage ?? 'storing';
  if (state === 'open') return job?.stage ?? 'bringing';
  return job?.stage === 'reading' || job?.stage === 'ready' ? job.stage : 'stopped';
}

/** Takes card imports through their stages. What it knows beyond the store lives in this process: files and previews. */
export function createCardDesk({ store, folder, now, log, onNews }: CardDeskDeps): CardDesk {
  const { cardImports } = store;
  const files = createCardFiles(folder);
  const jobs = new Map<number, Job>();
  const set = (id: number, change: Partial<Job>): void => {
    jobs.set(id, { ...(jobs.get(id) ?? idle), ...change });
  };

  async function json(entry: CardImport): Promise<CardImportJson> {
    const job = jobs.get(entry.id);
    const received = await Promise.all(
      entry.files.map(async ({ bytes }, place) =>
        entry.state === 'done' ? bytes : await files.received(entry.id, place),
      ),
    );
    const stage = stageOf(entry, job);
    return cardImportJson(entry, {
      stage,
      note: job?.note ?? entry.note ?? null,
      progress: job?.progress ?? null,
      preview: job?.preview ?? null,
      received,
    });
  }

  /** Runs one stage in the background; its end is told by the job. */
  function begin(
    entry: CardImport,
    stage: 'reading' | 'storing',
    run: (signal: AbortSignal) => Promise<void>,
  ): void {
    const controller = new AbortController();
    set(entry.id, { stage, note: null, progress: { lines: 0, ratio: 0 } });
    const done = run(controller.signal)
      .catch(async (cause: unknown) => {
        const told =
          cause instanceof CardRefused
            ? cause.message
            : controller.signal.aborted
              ? 'Stopped. What is stored stays; it can go on from here.'
              : 'Something failed at our end; whoever runs the server finds it in its log. Nothing was stored twice: try again.';
        if (!(cause instanceof CardRefused) && !controller.signal.aborted)
          log.error({ cause, cardImport: entry.id }, 'a card import failed');
        if (stage === 'storing')
          await cardImports.change(entry.id, { state: 'stopped', from: ['storing'], note: told });
        set(entry.id, {
          stage: cause instanceof CardRefused && stage === 'reading' ? 'refused' : 'stopped',
          note: told,
          progress: null,
        });
      })
      .catch((cause: unknown) => log.error({ cause }, 'the end of a card import could not be kept'))
      .finally(() => {
        const { stage: last, note, progress, preview, texts } = jobs.get(entry.id) ?? idle;
        jobs.set(entry.id, {
          stage: last,
          note,
          progress,
          preview,
          ...(texts === undefined ? {} : { texts }),
        });
      });
    set(entry.id, { work: { controller, done } });
  }

  const readDeps = (
    entry: CardImport,
    settings: CardSettingsJson,
    signal: AbortSignal,
  ): ReadDeps => ({
    files: entry.files.map(({ name, bytes }, place) => ({
      name,
      bytes,
      path: files.path(entry.id, place),
    })),
    settings: settingsFrom(settings),
    siteZone: entry.siteZone,
    nowMs: now(),
    signal,
    onProgress: (lines, ratio) => set(entry.id, { progress: { lines, ratio } }),
  });

  async function understand(
    entry: CardImport,
    settings: CardSettingsJson,
    signal: AbortSignal,
  ): Promise<void> {
    const deps = readDeps(entry, settings, signal);
    let texts = await readCard(deps);
    const plans = texts.map((text) => planAfter(text, deps.settings));
    // What the first pass proved changes how the dates are read: once more, then.
    if (plans.some(({ form }, place) => form !== texts[place]?.plan.form))
      texts = await readCard(deps, { plans });
    const look = await lookAtStore(cardImports, entry.nodeId, texts);
    set(entry.id, {
      stage: 'ready',
      progress: null,
      preview: previewJson(texts, deps.settings, look),
      texts,
    });
  }

  async function keep(
    entry: CardImport,
    {
      settings,
      texts,
    }: { readonly settings: CardSettingsJson; readonly texts: readonly ReadText[] },
    signal: AbortSignal,
  ): Promise<void> {
    const deps = readDeps(entry, settings, signal);
    const plans = texts.map((text) => planAfter(text, deps.settings));
    const rules = new Map(
      plans.map((plan, place) => [plan, mergeRule(plan, (texts[place] as ReadText).tally)]),
    );
    const totals = { here: 0, conflicts: 0 };
    let waiting: Sample[] = [];
    let under: Promise<void> = Promise.resolve();
    const merge = async (
      samples: readonly Sample[],
      plan: (typeof plans)[number],
    ): Promise<void> => {
      const rule = rules.get(plan) ?? { tolerance: new Map(), timeStepMs: 0 };
      const counts = await cardImports.merge({
        importId: entry.id,
        nodeId: entry.nodeId,
        samples,
        receivedAtMs: now(),
        ...rule,
      });
      totals.here += counts.here;
      totals.conflicts += counts.conflicts;
      if (totals.conflicts > HOPELESS_CONFLICTS && totals.conflicts > totals.here)
        throw new CardRefused(
          'card-damaged',
          `Stopped: ${totals.conflicts.toLocaleString('en-GB')} readings differ from what is stored at the same times, more than agree. The zone of the times or the node is likely not the right one.`,
        );
    };
    let last: (typeof plans)[number] | undefined;
    const flush = async (): Promise<void> => {
      const [samples, plan] = [waiting, last];
      waiting = [];
      // One batch is stored while the next is read.
      await under;
      if (samples.length > 0 && plan !== undefined) under = merge(samples, plan);
      under.catch(() => undefined);
    };
    await readCard(deps, {
      plans,
      async onSamples(samples, plan) {
        if (last !== plan) await flush();
        last = plan;
        for (const sample of samples) waiting.push(sample);
        if (waiting.length >= BATCH_SAMPLES) await flush();
      },
    });
    await flush();
    await under;
    await cardImports.change(entry.id, { state: 'done', from: ['storing'] });
    // The preview and what was read go: the store knows the rest.
    set(entry.id, { stage: 'done', progress: null, preview: null, texts: [] });
    await files.remove(entry.id);
    onNews(entry.nodeId);
  }

  const isBusy = (id: number): boolean => jobs.get(id)?.work !== undefined;
  const atWork = (): number => [...jobs.values()].filter(({ work }) => work !== undefined).length;
  const busy = refuse(
    'card-import-busy',
    'This import is at work, or two others are: wait until it is through, or stop it.',
  );

  return {
    async open({ node, by, files: brought }) {
      return json(await cardImports.create({ nodeId: node.id, by, files: brought }));
    },
    async list() {
      const entries = await cardImports.recent(LISTED);
      return Promise.all(entries.map(async (entry) => ({ ...(await json(entry)), preview: null })));
    },
    async find(id) {
      const entry = await cardImports.find(id);
      return entry === undefined ? undefined : json(entry);
    },
    async bring(id, { place, offset, bytes }) {
      const entry = await cardImports.find(id);
      const file = entry?.files[place];
      if (entry === undefined || file === undefined) return unknown;
      if (isBusy(id) || entry.state !== 'open') return busy;
      const all = entry.files.reduce((sum, one) => sum + one.bytes, 0);
      if (offset + bytes.length > file.bytes || all > MOST_TEXT_BYTES)
        return refuse(
          'card-too-large',
          'A file is as large as was said when the import was opened, and all together 200 MB at most: bring them in parts.',
        );
      const fits = await files.append(id, { place, offset, bytes });
      const received = await files.received(id, place);
      return fits
        ? ok({ received })
        : refuse(
            'card-piece-misplaced',
            `${received} bytes of this file are here: go on from there.`,
          );
    },
    async read(id, settings) {
      const entry = await cardImports.find(id);
      if (entry === undefined) return unknown;
      if (isBusy(id) || atWork() >= AT_ONCE) return busy;
      if (entry.state === 'done' || entry.state === 'storing')
        return refuse('card-stored', 'This import is stored: open another one for other files.');
      if (settings.zone !== undefined && !isZone(settings.zone))
        return refuse(
          'time-zone-unknown',
          `There is no time zone “${settings.zone}”: use a name such as Europe/London or UTC.`,
        );
      for (const [place, { name, bytes }] of entry.files.entries())
        if ((await files.received(id, place)) < bytes)
          return refuse('card-not-ready', `“${name}” is not wholly here yet.`);
      await cardImports.change(id, { state: entry.state, from: [entry.state], settings });
      begin(entry, 'reading', (signal) => understand(entry, settings, signal));
      return ok(await json(entry));
    },
    async store(id) {
      const entry = await cardImports.find(id);
      if (entry === undefined) return unknown;
      if (isBusy(id) || atWork() >= AT_ONCE) return busy;
      const job = jobs.get(id);
      if (job?.stage !== 'ready' || job.texts === undefined || job.preview === null)
        return refuse(
          'card-not-ready',
          'Have the files read first, then store what was understood.',
        );
      const open = job.preview.doubts.find(({ blocking }) => blocking);
      if (open !== undefined) return refuse('card-not-ready', open.sentence);
      if (!(await cardImports.change(id, { state: 'storing', from: ['open', 'stopped'] })))
        return busy;
      const given = { settings: entry.settings as CardSettingsJson, texts: job.texts };
      begin(entry, 'storing', (signal) => keep(entry, given, signal));
      return ok(await json({ ...entry, state: 'storing' }));
    },
    async stop(id) {
      const work = jobs.get(id)?.work;
      work?.controller.abort();
      await work?.done;
      const entry = await cardImports.find(id);
      return entry === undefined ? unknown : ok(await json(entry));
    },
    async discard(id) {
      const entry = await cardImports.find(id);
      if (entry === undefined) return unknown;
      if (isBusy(id)) return busy;
      await files.remove(id);
      await cardImports.remove(id);
      jobs.delete(id);
      return ok(null);
    },
    async conflicts(id, page) {
      return {
        conflicts: (await cardImports.conflicts(id, page)).map((one) => ({
          metric: one.metric,
          label: metric(one.metric).label,
          unit: metric(one.metric).unit,
          at: new Date(one.observedAtMs).toISOString(),
          kept: one.keptValue,
          card: one.cardValue,
        })),
      };
    },
    async recover() {
      for (const id of await files.imports())
        await cardImports.change(id, {
          state: 'stopped',
          from: ['storing'],
          note: 'The server was stopped. Have the files read again and go on: nothing comes in twice.',
        });
    },
    async close() {
      for (const { work } of jobs.values()) work?.controller.abort();
      await Promise.all([...jobs.values()].map(async ({ work }) => await work?.done));
    },
  };
}
