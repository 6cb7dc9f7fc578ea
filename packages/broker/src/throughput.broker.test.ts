import type { NodeId, NodeName } from '@duskline/domain';
import { createReceiver, type AcceptOutcome } from '@duskline/intake';
import { decodeMessage, encodeAck, resolveMessage } from '@duskline/wire';
import mqtt from 'mqtt';
import { expect, it } from 'vitest';
import { startEmbeddedBroker } from './index.ts';

const NODES = 8;
const IN_FLIGHT = 50;
const EACH = 2500;

/** Prints a figure; how fast this machine is at the moment is not asserted. */
it('takes every message of a busy fleet once, and says how fast', async () => {
  const accepted = new Map<string, Set<number>>();
  let batches = 0;
  const receiver = createReceiver({
    decode: (packet) => decodeMessage(packet, { inflate: () => ({ ok: false, fault: 'corrupt' }) }),
    resolve: resolveMessage,
    accept: async (messages): Promise<AcceptOutcome[]> => {
      batches += 1;
      for (const { node, place } of messages) {
        const seqs = accepted.get(node) ?? new Set();
        accepted.set(node, seqs.add(place?.seq ?? 0));
      }
      return messages.map(({ place }) => ({
        kind: 'stored',
        nodeId: 1 as NodeId,
        ...(place === undefined ? {} : { ack: place }),
      }));
    },
    quarantine: ([bad]) => Promise.reject(new Error(bad?.fault.reason)),
    sendAck: (node, place) => broker.publishAck(node, encodeAck(place)),
    onStored: () => undefined,
    clock: { now: Date.now },
  });
  const silent = { info: () => undefined, warn: () => undefined, error: () => undefined };
  const broker = await startEmbeddedBroker({
    port: 0,
    host: '127.0.0.1',
    verifySecret: async () => true,
    receive: receiver.receive,
    log: silent,
  });
  const names = Array.from({ length: NODES }, (_, i) => `long-moss-${i}` as NodeName);
  const clients = await Promise.all(
    names.map((name) =>
      mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`, {
        protocolVersion: 4,
        clientId: name,
        username: name,
        password: 'x',
      }),
    ),
  );

  const startedAtMs = performance.now();
  await Promise.all(
    clients.map(async (client, i) => {
      let seq = 0;
      const publishOn = async () => {
        while (seq < EACH) {
          seq += 1;
          await client.publishAsync(`v1/${names[i]}/up/live`, reading(seq), { qos: 1 });
        }
      };
      await Promise.all(Array.from({ length: IN_FLIGHT }, publishOn));
    }),
  );
  const seconds = (performance.now() - startedAtMs) / 1000;
  const total = NODES * EACH;
  console.log(
    `Embedded broker and receiver, nothing stored: ${Math.round(total / seconds)} messages/s of four readings ` +
      `(${NODES} nodes, ${IN_FLIGHT} in flight each, ${Math.round(total / batches)} to a batch; publishers in the same process).`,
  );

  await Promise.all(clients.map((client) => client.endAsync()));
  await broker.close();
  expect([...accepted.values()].map((seqs) => seqs.size)).toEqual(names.map(() => EACH));
});

const reading = (seq: number): string =>
  JSON.stringify([
    { n: 'batt_v', u: 'V', v: 12.61 },
    { n: 'batt_i', u: 'A', v: -0.412 },
    { n: 'panel_v', u: 'V', v: 17.2 },
    { n: 'panel_w', u: 'W', v: 3.1 },
    { n: 'boot', u: 'count', v: 1 },
    { n: 'seq', u: 'count', v: seq },
  ]);
