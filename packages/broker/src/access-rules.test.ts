import type { NodeName } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import {
  mayReceive,
  mayRetain,
  whyNotPublish,
  whyNotSubscribe,
  whyNotWill,
} from './access-rules.ts';

const rushy = 'rushy-sluice' as NodeName;

describe('a refusal says what is allowed and what was asked for', () => {
  it('for a topic of the broker', () => {
    expect(whyNotPublish(rushy, '$SYS/x/new/clients')).toBe(
      'Topics that begin with $ belong to the broker; rushy-sluice published to "$SYS/x/new/clients".',
    );
  });

  it('for a topic of another node', () => {
    expect(whyNotPublish(rushy, 'v1/tarn-gill/up/live')).toBe(
      'rushy-sluice may publish only to v1/rushy-sluice/up/live, v1/rushy-sluice/up/backlog and ' +
        'v1/rushy-sluice/up/state; it published to "v1/tarn-gill/up/live".',
    );
  });

  it('for a filter, a will, and a topic with control characters, cut to a line', () => {
    expect(whyNotSubscribe(rushy, '#')).toContain('it asked for "#".');
    expect(whyNotWill(rushy, 'v1/rushy-sluice/up/live')).toContain(
      'only on v1/rushy-sluice/up/state',
    );
    const shown = whyNotPublish(rushy, `a\nb${'c'.repeat(60_000)}`) ?? '';
    expect(shown).not.toContain('\n');
    expect(shown.length).toBeLessThan(400);
  });
});

describe('what a node may do', () => {
  it.each(['live', 'backlog', 'state'])('publish its own %s', (kind) => {
    expect(whyNotPublish(rushy, `v1/rushy-sluice/up/${kind}`)).toBeUndefined();
  });

  it.each(['ack', 'settings', '#', '+'])('subscribe to its own down/%s', (last) => {
    expect(whyNotSubscribe(rushy, `v1/rushy-sluice/down/${last}`)).toBeUndefined();
  });

  it('keep only its state as a retained message', () => {
    const kinds = ['live', 'backlog', 'state'].map((kind) =>
      mayRetain(`v1/rushy-sluice/up/${kind}`),
    );
    expect(kinds).toEqual([false, false, true]);
  });

  it('be given its own ack and settings, and nothing else whatever it subscribed to', () => {
    expect(mayReceive(rushy, 'v1/rushy-sluice/down/ack')).toBe(true);
    expect(mayReceive(rushy, 'v1/rushy-sluice/down/settings')).toBe(true);
    for (const topic of [
      ...['v1/tarn-gill/down/ack', 'v1/tarn-gill/up/live', 'v1/rushy-sluice/up/state'],
      ...['$SYS/x/new/clients', 'v1/rushy-sluice/down/ack/', 'v1/rushy-sluice/down/other'],
    ]) {
      expect(mayReceive(rushy, topic)).toBe(false);
    }
  });
});
