import type { IClientOptions } from 'mqtt';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { BrokerUnderTest, closed, rushy, tarn } from './testing/broker-under-test.ts';

// Who may do what, at the real broker. What MQTT asks for is cited from OASIS MQTT 3.1.1.

let test: BrokerUnderTest;
beforeEach(async () => {
  test = new BrokerUnderTest();
  await test.start();
});
afterEach(() => test.stop());

describe('a connection', () => {
  it('with a wrong secret, or a name nobody has, is refused with the same word [MQTT-3.2.2.3: 4]', async () => {
    expect(await test.refusalCode(rushy, { password: 'wrong' })).toBe(4);
    expect(await test.refusalCode('no-such-node')).toBe(4);
    expect(await test.refusalCode('Not A Name')).toBe(4);
    expect(
      await test.refusalCode(rushy, { username: undefined, password: undefined } as never),
    ).toBe(4);
    expect(test.refused.map((r) => r.code)).toEqual([
      'secret-wrong',
      'secret-wrong',
      'name-malformed',
      'name-malformed',
    ]);
  });

  // Found by E2: a node in whose very CONNECT the database was away never came back.
  it('that cannot be judged now is ended without a word, so that a stock client tries again by itself', async () => {
    let isAway = true;
    await test.start({
      verifySecret: async () => {
        if (isAway) throw new Error('the store is away');
        return true;
      },
    });
    const client = test.open(rushy, { reconnectPeriod: 50 });
    const refused = vi.fn();
    client.on('error', refused);
    await closed(client);
    isAway = false;
    await vi.waitFor(() => expect(client.connected).toBe(true), { timeout: 10_000 });
    expect(refused).not.toHaveBeenCalled();
    expect(test.refused).toEqual([]);
  });

  it('under another client id is refused, and the node that has the name keeps its own', async () => {
    const victim = await test.connected(rushy);
    const lost = vi.fn();
    victim.on('close', lost);
    expect(await test.refusalCode(tarn, { clientId: rushy })).toBe(2);
    expect(test.refused.at(-1)).toMatchObject({ code: 'client-id-foreign', node: tarn });
    await victim.publishAsync(`v1/${rushy}/up/live`, 'still here', { qos: 1 });
    expect(lost).not.toHaveBeenCalled();
  });

  it('without a client id gets the name of its node', async () => {
    const client = await test.connected(rushy, { clientId: '' });
    await client.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
    expect(test.received[0]?.from).toBe(rushy);
    expect(test.broker.connectedNodes()).toEqual([rushy]);
  });

  it('is not tried again at once after ten wrong secrets, yet other nodes at the same address are', async () => {
    for (let i = 0; i < 10; i += 1) await test.refusalCode(rushy, { password: 'wrong' });
    expect(await test.refusalCode(rushy)).toBe(4);
    expect(test.refused.at(-1)?.code).toBe('too-many-attempts');
    await test.connected(tarn);
  });

  it('beyond the limit is turned away while the others stay', async () => {
    await test.start({ maxConnections: 1 });
    const first = await test.connected(rushy);
    await closed(test.open(tarn));
    expect(test.refused.at(-1)?.code).toBe('connections-full');
    await first.publishAsync(`v1/${rushy}/up/live`, 'x', { qos: 1 });
  });

  it('ends when the node is withdrawn', async () => {
    const client = await test.connected(rushy);
    const gone = closed(client);
    test.broker.disconnectNode(rushy);
    await gone;
    expect(test.broker.connectedNodes()).toEqual([]);
  });
});

const longTopic = `v1/${rushy}/up/live${'/x'.repeat(200)}`;

describe('topics a node may not publish to', () => {
  const foreign = [
    `v1/${tarn}/up/live`,
    `v1/${tarn}/up/backlog`,
    `v1/${tarn}/up/state`,
    `v1/${tarn}/down/ack`,
    `v1/${rushy}/down/ack`,
    `v1/${rushy}/down/settings`,
    `v1/${rushy}/up`,
    `v1/${rushy}/up/`,
    `v1/${rushy}/up/live/`,
    `/v1/${rushy}/up/live`,
    `v1/${rushy}//up/live`,
    `v1//up/live`,
    `v1/${rushy}/up/live/more`,
    `v1/${rushy}/up/other`,
    `v1/${rushy.toUpperCase()}/up/live`,
    `V1/${rushy}/up/live`,
    `v2/${rushy}/up/live`,
    `v1/${rushy} /up/live`,
    ` v1/${rushy}/up/live`,
    `v1/${rushy}/up/live `,
    'v1/rushy\u2010sluice/up/live',
    'v1/rushy-slu\u0456ce/up/live',
    'v1/rushy-sluice\u200b/up/live',
    'v1/rushy-sluice\ufeff/up/live',
    `v1/../v1/${rushy}/up/live`,
    `v1/${rushy}/up/l\u0131ve`,
    `v1/__proto__/up/live`,
    `v1/constructor/up/live`,
    '$SYS/x/new/clients',
    '$SYS/broker/uptime',
    '$CONTROL/dynamic-security/v1',
    `$share/g/v1/${rushy}/up/live`,
    `$v1/${rushy}/up/live`,
    '$',
    '/',
    'x',
    longTopic,
    'y'.repeat(65_535),
    '#',
    `v1/${rushy}/up/#`,
    `v1/+/up/live`,
    '+',
  ];

  it.each(foreign.map((topic) => [topic.slice(0, 60), topic]))('%s', async (_shown, topic) => {
    const client = await test.connected(rushy);
    const acknowledged = vi.fn();
    client.publish(topic, 'x', { qos: 1, retain: true }, (error) => {
      if (!error) acknowledged();
    });
    await closed(client);
    expect(acknowledged).not.toHaveBeenCalled();
    expect(test.received).toEqual([]);
    expect(test.refused).toHaveLength(1);
    expect(test.refused[0]).toMatchObject({ node: rushy });
    expect(['publish-foreign', 'packet-malformed']).toContain(test.refused[0]?.code);
  });

  it('not even the one by which aedes closes other clients', async () => {
    const victim = await test.connected(tarn);
    const lost = vi.fn();
    victim.on('close', lost);
    const client = await test.connected(rushy);
    client.publish('$SYS/another-broker/new/clients', tarn, { qos: 0 });
    await closed(client);
    await victim.publishAsync(`v1/${tarn}/up/live`, 'still here', { qos: 1 });
    expect(lost).not.toHaveBeenCalled();
  });
});

describe('filters a node may not subscribe to', () => {
  const foreign = [
    '#',
    '+',
    '+/#',
    '+/+/down/ack',
    'v1/#',
    'v1/+/down/#',
    'v1/+/down/ack',
    'v1/+/up/#',
    `v1/${tarn}/down/ack`,
    `v1/${tarn}/down/#`,
    `v1/${tarn}/#`,
    `v1/${rushy}/#`,
    `v1/${rushy}/+/ack`,
    `v1/${rushy}/up/#`,
    `v1/${rushy}/up/state`,
    `v1/${rushy}/down`,
    `v1/${rushy}/down/`,
    `v1/${rushy}/down/ack/`,
    `v1/${rushy}/down/ack/#`,
    `v1/${rushy}/down/+/#`,
    `v1/${rushy}//down/ack`,
    `/v1/${rushy}/down/ack`,
    `/${'#'}`,
    `v1/${rushy.toUpperCase()}/down/ack`,
    'v1/rushy\u2010sluice/down/ack',
    'v1/rushy-sluice\u200b/down/#',
    '$SYS/#',
    '$SYS/+/new/clients',
    '$CONTROL/#',
    '$share/g/#',
    `$share/g/v1/${tarn}/down/ack`,
    `$share/g/v1/${rushy}/down/ack`,
    `$queue/v1/${tarn}/down/ack`,
  ];

  it.each(foreign)('%s', async (filter) => {
    const client = await test.connected(rushy);
    const messages: string[] = [];
    client.on('message', (topic) => messages.push(topic));
    const granted = await client.subscribeAsync(filter, { qos: 1 }).catch(() => 'refused');
    expect(granted).toBe('refused');
    expect(test.refused[0]).toMatchObject({
      code: 'subscribe-foreign',
      node: rushy,
      topic: filter,
    });

    await client.subscribeAsync(`v1/${rushy}/down/#`, { qos: 1 });
    test.broker.publishAck(tarn, Buffer.from('for tarn'));
    test.broker.publish(`v1/${tarn}/down/settings`, Buffer.from('for tarn'), { retain: true });
    test.broker.publishAck(rushy, Buffer.from('for rushy'));
    await vi.waitFor(() => expect(messages).toContain(`v1/${rushy}/down/ack`));
    expect(messages).toEqual([`v1/${rushy}/down/ack`]);
  });

  it('deeper than the broker looks: the connection ends', async () => {
    const client = await test.connected(rushy);
    client.subscribe(`v1/${rushy}/down${'/x'.repeat(200)}`);
    await closed(client);
  });

  it('do not slip in beside one that is allowed, not even into a session that is kept', async () => {
    const session = { clean: false };
    const first = await test.connected(rushy, session);
    const asked = [`v1/${rushy}/down/ack`, `v1/${tarn}/down/ack`, 'v1/+/down/settings', '#'];
    await first.subscribeAsync(asked, { qos: 1 }).catch(() => undefined);
    await first.endAsync();
    test.broker.publishAck(tarn, Buffer.from('for tarn'));
    test.broker.publish(`v1/${tarn}/down/settings`, Buffer.from('for tarn'), { retain: true });
    test.broker.publishAck(rushy, Buffer.from('for rushy'));

    const messages: string[] = [];
    const again = test.open(rushy, session);
    again.on('message', (topic) => messages.push(topic));
    await vi.waitFor(() => expect(messages).toContain(`v1/${rushy}/down/ack`));
    await sleep(100);
    expect(messages).toEqual([`v1/${rushy}/down/ack`]);
  });
});

describe('a will', () => {
  const will = (topic: string): IClientOptions => ({
    will: { topic, payload: Buffer.from('dropped'), qos: 1, retain: true },
  });

  it.each([
    `v1/${tarn}/up/state`,
    `v1/${rushy}/up/live`,
    `v1/${rushy}/down/settings`,
    '$SYS/x/new/clients',
    `v1/${rushy}/up/state/`,
    longTopic,
  ])('on %s is refused when the node connects [MQTT-3.2.2.3: 5]', async (topic) => {
    expect(await test.refusalCode(rushy, will(topic))).toBe(5);
    expect(test.refused.at(-1)).toMatchObject({ code: 'will-foreign', node: rushy });
    await sleep(20);
    expect(test.received).toEqual([]);
  });

  it('on its own state is stored when the link drops [MQTT-3.1.2-8]', async () => {
    const client = await test.connected(rushy, will(`v1/${rushy}/up/state`));
    client.stream.destroy();
    await vi.waitFor(() =>
      expect(test.received).toEqual([
        { topic: `v1/${rushy}/up/state`, text: 'dropped', from: rushy },
      ]),
    );
  });

  it('is dropped when the node says goodbye [MQTT-3.14.4-3]', async () => {
    const client = await test.connected(rushy, will(`v1/${rushy}/up/state`));
    await client.endAsync();
    await sleep(50);
    expect(test.received).toEqual([]);
  });

  it('says nothing when it was the server that ended the connection', async () => {
    const first = await test.connected(rushy, will(`v1/${rushy}/up/state`));
    const gone = closed(first);
    test.broker.disconnectNode(rushy);
    await gone;
    await test.connected(rushy, will(`v1/${rushy}/up/state`));
    await test.broker.close();
    expect(test.received).toEqual([]);
    await test.start();
  });
});
