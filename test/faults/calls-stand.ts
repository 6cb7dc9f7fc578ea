import { hashSecret } from '@duskline/broker';
import {
  DAY_MS,
  type Account,
  type Alert,
  type ChannelKind,
  type FieldNode,
  type NodeName,
  type Priority,
  type SiteId,
} from '@duskline/domain';
import { openStore, type Store } from '@duskline/store';
import { freePort } from '@duskline/test-harness';
import type { Sql } from 'postgres';
import type { Lab } from './lab.ts';
import { serverProcess, type ServerProcess } from './nemesis/server-process.ts';

/** A database with one node and people, for experiments about what is told to whom. */
export interface CallsStand {
  readonly url: string;
  readonly store: Store;
  readonly sql: Sql;
  readonly addPerson: (
    name: string,
    role: Account['role'],
    channels: readonly Channel[],
  ) => Promise<Account>;
  readonly onCall: (person: Account) => Promise<void>;
  /** The rules have found these: one alert each, of different subjects. */
  readonly raise: (priority: Priority, sentences: readonly string[]) => Promise<readonly Alert[]>;
  readonly server: (
    name: string,
    env: Readonly<Record<string, string>>,
    databaseUrl?: string,
  ) => Promise<ServerProcess>;
}

interface Channel {
  readonly kind: ChannelKind;
  readonly address: string;
  readonly secret?: string;
}

/** A zone in which it is noon: whoever lives there is awake, whenever this runs. */
const noonZone = (): string => {
  const ahead = 12 - new Date().getUTCHours();
  return ahead === 0 ? 'Etc/GMT' : `Etc/GMT${ahead > 0 ? '-' : '+'}${Math.abs(ahead)}`;
};

export async function openCallsStand(lab: Lab): Promise<CallsStand> {
  const url = await lab.freshDatabase();
  const store = await openStore({ url });
  lab.undo(() => store.close());
  const sql = lab.openSql(url);
  const node = await makeNode(store);
  let raised = 0;
  return {
    url,
    store,
    sql,
    async addPerson(name, role, channels) {
      const email = `${name.toLowerCase().replaceAll(' ', '.')}@greywater.example`;
      const passwordHash = 'no password opens this account';
      const account = await store.accounts.create({ email, name, role, passwordHash });
      await store.people.change(account.id, { timeZone: noonZone() });
      const known = (await store.people.find(account.id))?.channels ?? [];
      for (const { id } of known) await store.people.endChannel(account.id, id, Date.now());
      for (const { kind, address, secret } of channels)
        await store.people.addChannel(account.id, {
          kind,
          address,
          ...(secret === undefined ? {} : { keys: { secret } }),
        });
      return account;
    },
    async onCall({ id: personId }) {
      const start = new Date(Date.now() - DAY_MS).toISOString().slice(0, 16);
      const shift = { durationMinutes: 14 * 1440, timeZone: 'UTC', recurrence: '' };
      await store.rota.add({ personId, start, ...shift });
    },
    async raise(priority, sentences) {
      const first = raised;
      raised += sentences.length;
      await store.commitAdvance({
        nodeId: node.id,
        // Newer than any look of the servers themselves.
        newsVersion: 1_000_000,
        verdict: { state: 'up', sinceMs: Date.now(), cause: 'Heard.', evidence: [] },
        alertChanges: sentences.map((sentence, i) => ({
          kind: 'open',
          rule: 'trial',
          subject: String(first + i),
          priority,
          text: { sentence, figures: '', byWhen: 'now', todo: '', bring: '', cautions: [] },
          why: sentence,
        })),
        memory: [],
        nextCheckAtMs: Date.now() + 30 * DAY_MS,
        nowMs: Date.now(),
      });
      const open = await store.alerts.open(node.id);
      return open.filter(({ text }) => sentences.includes(text.sentence));
    },
    async server(name, env, databaseUrl = url) {
      const server = serverProcess({
        httpPort: await freePort(),
        env: {
          DUSKLINE_DATABASE_URL: databaseUrl,
          DUSKLINE_DATA_DIR: `${lab.folder}/${name}`,
          DUSKLINE_MQTT_PORT: String(await freePort()),
          DUSKLINE_MAIL_FROM: 'Duskline <duskline@greywater.example>',
          ...env,
        },
      });
      lab.undo(() => server.kill9());
      return server;
    },
  };
}

async function makeNode(store: Store): Promise<FieldNode> {
  const site = await store.sites.create({
    id: 'peat-hag' as SiteId,
    name: 'Peat Hag',
    position: { latitudeDeg: 54.9, longitudeDeg: -2.9, elevationM: 400 },
    timeZone: 'Europe/London',
    access: '',
    hazards: '',
  });
  return store.nodes.create(
    {
      name: 'peat-hag' as NodeName,
      siteId: site.id,
      commissionedAtMs: Date.now() - DAY_MS,
      power: {
        panel: { ratedW: 20, tiltDeg: 65, azimuthDeg: 180 },
        battery: { chemistry: 'lifepo4', ratedWh: 150, seriesCells: 4 },
        charger: 'mppt',
        shutDownRatio: 0.1,
        restartRatio: 0.5,
        offStateDrawW: 0.1,
        usualGapS: 30,
      },
    },
    hashSecret('only in the experiment'),
  );
}
