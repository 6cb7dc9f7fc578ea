import { accountId, HOUR_MS, type Account, type AlertText, type FieldNode } from '@duskline/domain';
import type postgres from 'postgres';
import type { Advance, Store } from '../store.ts';
import { createExampleNode } from './example-fleet.ts';

export const startMs = Date.UTC(2026, 10, 25, 7);
export const ines: Account = {
  id: accountId('11111111-1111-4111-8111-111111111111'),
  email: 'ines@greywater.example',
  name: 'Ines Tarn',
  role: 'volunteer',
};
export const wren: Account = {
  id: accountId('22222222-2222-4222-8222-222222222222'),
  email: 'wren@greywater.example',
  name: 'Wren Halloway',
  role: 'coordinator',
};
export const text: AlertText = {
  sentence: 'It stops soon.',
  figures: '3 Wh in, 6 out.',
  byWhen: 'today',
  todo: 'Clean it.',
  bring: 'A cloth.',
  cautions: [],
};

/** A look at a node that found nothing but what is given. */
export const look = (node: FieldNode, over: Partial<Advance>): Advance => ({
  nodeId: node.id,
  newsVersion: 0,
  verdict: { state: 'up', sinceMs: startMs, cause: 'Heard.', evidence: [] },
  alertChanges: [],
  memory: [],
  nextCheckAtMs: startMs + HOUR_MS,
  nowMs: startMs,
  ...over,
});

/** A node, named `id`, with one alert that has just been opened. */
export async function openExampleAlert(store: Store, id: string, rule = 'charge-low') {
  const node = await createExampleNode(store, id);
  await store.commitAdvance(
    look(node, { alertChanges: [{ kind: 'open', rule, priority: 'P2', text, why: 'low' }] }),
  );
  const [alert] = await store.alerts.open(node.id);
  if (alert === undefined) throw new Error('No alert was opened.');
  return { node, alert };
}

/** Whether somebody is still to be told of it. */
export async function isToCall(sql: postgres.Sql, id: string): Promise<boolean | undefined> {
  const [node, number] = id.split('-').map(Number);
  const [row] = await sql<{ due: boolean }[]>`
    select next_call_at is not null as due from alert where node_id = ${node!} and number = ${number!}`;
  return row?.due;
}
