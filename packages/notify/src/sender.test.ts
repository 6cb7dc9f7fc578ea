import { setTimeout as sleep } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import type { Channel, Delivery } from './delivery.ts';
import { createSender, retryMs, type HeldCall, type OutboxPort } from './sender.ts';

const nowMs = Date.UTC(2026, 10, 26, 9);
const call = (more: Partial<HeldCall> = {}): HeldCall => ({
  key: 'abcdefghijklmnopqrstuvwxyz012345',
  fence: 1,
  kind: 'call',
  personId: 'wren',
  priority: 'P1',
  createdAtMs: nowMs,
  giveUpAtMs: nowMs + 86_400_000,
  attempts: 1,
  breaker: 'email',
  breakerFailures: 0,
  channel: { id: 'c', kind: 'email', address: 'wren@greywater.example', keys: {} },
  body: { subject: 'P1', text: 'Go.' },
  ...more,
});

/** An outbox of one row, which keeps what it is told. */
function outboxOf(row: HeldCall, isOurs = true) {
  const said: string[] = [];
  const again: { dueAtMs: number; uncounted?: boolean }[] = [];
  const port: OutboxPort = {
    claim: () => Promise.resolve([row]),
    begin: () => Promise.resolve(isOurs),
    renew: (calls) => Promise.resolve(void said.push(`renew ${calls.length}`)),
    sent: () => Promise.resolve(said.push('sent') > 0),
    again: (_, outcome) => Promise.resolve(void again.push(outcome)),
    dead: () => Promise.resolve(void said.push('dead')),
    breakerFailed: () => Promise.resolve(),
  };
  return { port, said, again };
}

function senderOf(
  port: OutboxPort,
  send: () => Promise<Delivery>,
  kind: Channel['kind'] = 'email',
) {
  return createSender({
    outbox: port,
    channels: [{ kind, send }],
    holder: 'one',
    now: () => nowMs,
    random: () => 0.5,
    leaseMs: 90,
  });
}

describe('a row that is held', () => {
  it('is renewed for as long as sending takes, and no longer', async () => {
    const { port, said } = outboxOf(call());
    await senderOf(port, () => sleep(200, { kind: 'sent' as const })).turn();
    const renewals = said.filter((one) => one === 'renew 1').length;
    expect(renewals).toBeGreaterThanOrEqual(2);
    expect(said.at(-1)).toBe('sent');
    await sleep(120);
    expect(said.filter((one) => one === 'renew 1')).toHaveLength(renewals);
  });

  it('is not sent by who lost it meanwhile, and costs no attempt', async () => {
    const { port, again } = outboxOf(call(), false);
    let asked = 0;
    await senderOf(port, () => Promise.resolve({ kind: 'sent' as const, n: ++asked })).turn();
    expect(asked).toBe(0);
    expect(again).toEqual([{ dueAtMs: nowMs, uncounted: true }]);
  });
});

describe('what did not get out', () => {
  const failed = () => Promise.resolve({ kind: 'failed' as const, error: 'away' });

  it('waits half a minute at the most for a mail server that is away for hours', async () => {
    const { port, again } = outboxOf(call({ attempts: 14, breakerFailures: 40 }));
    await senderOf(port, failed).turn();
    expect(again).toMatchObject([{ dueAtMs: nowMs + 30_000 }]);
  });

  it('waits ever longer for a host of somebody else', async () => {
    const channel = { id: 'c', kind: 'webhook', address: 'https://x.example', keys: {} } as const;
    const { port, again } = outboxOf(call({ attempts: 14, breakerFailures: 40, channel }));
    await senderOf(port, failed, 'webhook').turn();
    expect(again).toMatchObject([{ dueAtMs: nowMs + retryMs(14, 0.5) }]);
    expect(retryMs(14, 0.5)).toBe(15 * 60_000);
  });
});
