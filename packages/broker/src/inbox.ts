import type { NodeName, Packet } from '@duskline/domain';
import type { Client, PublishPacket } from 'aedes';
import { mayRetain, whyNotPublish } from './access-rules.ts';
import type { RefusalLedger } from './refusal-ledger.ts';
import { Refused, type Refusal } from './refusal.ts';

type Answer = (error?: Error | null) => void;

export interface Inbox {
  /** Answers once the message is committed, or with the reason why its connection must be closed unacknowledged. */
  readonly authorizePublish: (client: Client | null, packet: PublishPacket, answer: Answer) => void;
  /** Says that this connection is ended by us: its will is not to be delivered. */
  readonly sever: (client: Client) => void;
  /** Takes nothing more, and resolves when what was taken is settled. */
  readonly close: () => Promise<void>;
}

/**
 * Where publishes come in. aedes asks for leave to publish *before* it writes the PUBACK (1.2.0, lib/handlers/publish.js),
 * so withholding the answer until the commit makes the PUBACK mean "stored". The packets of one read of the socket are
 * asked about together, and the next read waits for them: that is what lets them share a commit, and what holds a node
 * back when the store is slow.
 *
 * A message that could not be stored gets no PUBACK; its connection is closed, because MQTT 3.1.1 knows no negative answer
 * and a node sends unacknowledged messages again only on a new connection.
 */
export function createInbox(options: {
  readonly receive: (packet: Packet, from: NodeName) => Promise<void>;
  readonly refusals: RefusalLedger;
  readonly now: () => number;
}): Inbox {
  const { receive, refusals, now } = options;
  const turns = new WeakMap<Client, Promise<void>>();
  const severed = new WeakSet<Client>();
  const underWay = new Set<Promise<void>>();
  let closing = false;

  function refuse(refusal: Refusal): Refused {
    refusals.note(refusal);
    return new Refused(refusal);
  }

  /** PUBACKs go out in the order the messages came in [MQTT-4.6.0-2]: nobody is answered before the one in front. */
  function inTurn(client: Client, stored: Promise<void>): Promise<void> {
    const front = turns.get(client) ?? Promise.resolve();
    const turn = front.then(() => stored);
    stored.catch(() => undefined);
    turns.set(client, turn);
    return turn;
  }

  function take(client: Client, packet: PublishPacket, answer: Answer): void {
    const node = client.id as NodeName;
    const stored = receive(toPacket(packet, now()), node);
    const settled = inTurn(client, stored).then(
      () => answer(null),
      (cause: unknown) => {
        severed.add(client);
        const reason =
          `A message of ${node} could not be stored and was not acknowledged: ${say(cause)}. ` +
          'Its connection is closed, so that it sends the message again.';
        answer(refuse({ code: 'not-stored', reason, node, topic: packet.topic }));
      },
    );
    underWay.add(settled);
    void settled.finally(() => underWay.delete(settled));
  }

  /** A will comes when its connection is gone. One that we ended ourselves says nothing about the node's link. */
  function takeWill(client: Client, packet: PublishPacket, answer: Answer): void {
    const node = client.id as NodeName;
    if (severed.has(client)) {
      return answer(new Refused({ code: 'not-stored', reason: 'The connection was ended here.' }));
    }
    const settled = receive(toPacket(packet, now()), node).then(
      () => answer(null),
      (cause: unknown) => {
        const reason = `The last will of ${node} could not be stored: ${say(cause)}.`;
        answer(refuse({ code: 'not-stored', reason, node, topic: packet.topic }));
      },
    );
    underWay.add(settled);
    void settled.finally(() => underWay.delete(settled));
  }

  return {
    authorizePublish(client, packet, answer) {
      if (client === null || closing) {
        return answer(new Refused({ code: 'not-stored', reason: 'The broker is stopping.' }));
      }
      const node = client.id as NodeName;
      const reason = whyNotPublish(node, packet.topic);
      if (reason !== undefined) {
        severed.add(client);
        const { topic } = packet;
        return answer(refuse({ code: 'publish-foreign', reason, node, topic }));
      }
      if (packet.retain && !mayRetain(packet.topic)) packet.retain = false;
      if (client.closed) takeWill(client, packet, answer);
      else take(client, packet, answer);
    },
    sever: (client) => void severed.add(client),
    async close() {
      closing = true;
      await Promise.allSettled(underWay);
    },
  };
}

const say = (cause: unknown): string => (cause instanceof Error ? cause.message : String(cause));

const toPacket = ({ topic, payload }: PublishPacket, receivedAtMs: number): Packet => ({
  topic,
  payload: typeof payload === 'string' ? Buffer.from(payload) : payload,
  receivedAtMs,
});
