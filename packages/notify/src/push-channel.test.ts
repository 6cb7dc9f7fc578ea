import { once } from 'node:events';
import { createServer, type IncomingHttpHeaders } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { OutgoingMessage } from './delivery.ts';
import { createPushChannel, newVapidKeys } from './push-channel.ts';
import { pushReceiver, readVapid } from './testing-push.ts';

/** A push service of ours: it keeps what it is given, as RFC 8030 asks, and answers 201, or as it is told. */
const got: {
  readonly path: string;
  readonly headers: IncomingHttpHeaders;
  readonly body: Buffer;
}[] = [];
let answers = 201;
const service = createServer((request, reply) => {
  const pieces: Buffer[] = [];
  request.on('data', (piece: Buffer) => pieces.push(piece));
  request.on('end', () => {
    got.push({ path: request.url ?? '', headers: request.headers, body: Buffer.concat(pieces) });
    reply.writeHead(answers).end();
  });
});
let origin: string;
beforeAll(async () => {
  service.listen(0, '127.0.0.1');
  await once(service, 'listening');
  origin = `http://127.0.0.1:${(service.address() as AddressInfo).port}`;
});
afterAll(() => void service.close());

const message: OutgoingMessage = {
  key: 'abcdefghijklmnopqrstuvwxyz012345',
  kind: 'call',
  priority: 'P1',
  alertId: '12-7',
  createdAtMs: Date.UTC(2026, 10, 25, 7),
  subject: 'P1 Rushy Sluice: its battery is hot',
  text: 'Rushy Sluice: 61 °C. Keep away.',
  link: 'https://duskline.example/a/only-in-tests',
  address: '',
  keys: {},
};
const vapid = newVapidKeys();
const channel = () =>
  createPushChannel({
    vapid,
    contact: 'mailto:keeper@greywater.example',
    guard: { trustedHosts: [new URL(origin).host] },
  });

describe('the receiver of these tests', () => {
  it('reads the example of RFC 8291, appendix A', () => {
    const receiver = pushReceiver({
      privateKey: 'q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94',
      auth: 'BTBZMqHH6r4Tts7J_aSIgg',
    });
    const body =
      'DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN';
    expect(receiver.read(Buffer.from(body, 'base64url'))).toBe(
      'When I grow up, I want to be a watermelon',
    );
  });
});

describe('a push', () => {
  it('is read by the browser it is for and by no other, and signed by our key for that service', async () => {
    const receiver = pushReceiver();
    const address = `${origin}/send/one`;
    answers = 201;
    expect(await channel().send({ ...message, address, keys: receiver.keys })).toEqual({
      kind: 'sent',
    });
    const sent = got.at(-1)!;
    expect(sent.path).toBe('/send/one');
    expect(JSON.parse(receiver.read(sent.body))).toEqual({
      key: message.key,
      title: message.subject,
      body: message.text,
      alertId: '12-7',
      link: message.link,
    });
    expect(() => pushReceiver().read(sent.body)).toThrow();
    // RFC 8030 §5.2–5.4: how long it is kept, how urgent it is, and what a later one of the same key replaces.
    expect(sent.headers).toMatchObject({
      'content-encoding': 'aes128gcm',
      ttl: '3600',
      urgency: 'high',
      topic: message.key,
    });
    const signed = readVapid(sent.headers.authorization ?? '');
    expect(signed?.key).toBe(vapid.publicKey);
    expect(signed?.claims).toMatchObject({ aud: origin, sub: 'mailto:keeper@greywater.example' });
    // RFC 8292 §2: not more than a day ahead.
    const aheadS = (signed?.claims.exp ?? 0) - Date.now() / 1000;
    expect(aheadS).toBeGreaterThan(0);
    expect(aheadS).toBeLessThanOrEqual(86_400);
  });

  it('ends with the subscription (404, 410), and is tried again when the service is away', async () => {
    const { keys } = pushReceiver();
    const address = `${origin}/send/two`;
    for (const [status, outcome] of [
      [410, { kind: 'refused', channel: 'ended' }],
      [404, { kind: 'refused', channel: 'ended' }],
      [503, { kind: 'failed' }],
    ] as const) {
      answers = status;
      expect(await channel().send({ ...message, address, keys })).toMatchObject(outcome);
    }
    expect(
      await channel().send({ ...message, address, keys: { p256dh: 'no', auth: 'no' } }),
    ).toMatchObject({
      kind: 'refused',
      channel: 'fault',
    });
  });
});
