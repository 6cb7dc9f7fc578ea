import { parseNodeName, type NodeName } from '@duskline/domain';
import type { AedesOptions, AuthenticateError, AuthErrorCode, Client } from 'aedes';
import type { Socket } from 'node:net';
import { shownTopic, whyNotWill } from './access-rules.ts';
import { createAttemptBrake } from './attempt-brake.ts';
import type { BrokerLog } from './broker-log.ts';
import type { RefusalLedger } from './refusal-ledger.ts';
import { Refused, type Refusal } from './refusal.ts';

/** CONNACK return codes (MQTT 3.1.1 §3.2.2.3); aedes declares them as a const enum, which cannot be imported here. */
const IDENTIFIER_REJECTED = 2 as AuthErrorCode;
const BAD_SECRET = 4 as AuthErrorCode;
const NOT_AUTHORIZED = 5 as AuthErrorCode;

interface Claim {
  readonly clientId: string;
  readonly willTopic?: string;
}

type Answer = 'welcome' | AuthenticateError;

export const addressOf = (client: Client): string =>
  (client.conn as Socket).remoteAddress ?? 'unknown';

/**
 * Decides who may connect: a node, by its name and secret, under its own name as client id, with a will on its own state
 * or none. An empty client id is taken for the name, so that a stock command-line client needs no more than `-u` and `-P`;
 * any other is refused, so that nobody can end or inherit the session of another.
 */
export function createConnectionGate(options: {
  readonly verifySecret: (name: NodeName, secret: Uint8Array) => Promise<boolean>;
  readonly refusals: RefusalLedger;
  readonly log: BrokerLog;
  readonly now: () => number;
}): Pick<Required<AedesOptions>, 'preConnect' | 'authenticate'> {
  const { verifySecret, refusals, log, now } = options;
  const brake = createAttemptBrake(now);
  const claims = new WeakMap<Client, Claim>();

  async function judge(client: Client, username = '', secret?: Uint8Array): Promise<Answer> {
    const address = addressOf(client);
    const claim = claims.get(client);
    const node = parseNodeName(username);

    const refuse = (returnCode: AuthErrorCode, refusal: Pick<Refusal, 'code' | 'reason'>) => {
      refusals.note({ ...refusal, address, ...(node === undefined ? {} : { node }) });
      return refusedConnect(returnCode, refusal);
    };

    if (node === undefined || claim === undefined) {
      return refuse(BAD_SECRET, {
        code: 'name-malformed',
        reason: `The user name must be the name of a node; ${shownTopic(username)} is not one.`,
      });
    }
    const attempt = `${address} ${node}`;
    if (brake.blocks(attempt)) {
      return refuse(BAD_SECRET, {
        code: 'too-many-attempts',
        reason: `${node} has tried a wrong secret ten times within a minute; it may try again when the minute is over.`,
      });
    }
    if (secret === undefined || !(await verifySecret(node, secret))) {
      brake.failed(attempt);
      return refuse(BAD_SECRET, {
        code: 'secret-wrong',
        reason: `${node} is not known here, or its secret is wrong. Give it a new secret in Setup.`,
      });
    }
    brake.succeeded(attempt);
    if (claim.clientId !== node) {
      return refuse(IDENTIFIER_REJECTED, {
        code: 'client-id-foreign',
        reason: `${node} must connect with its own name as client id, or with none; it used ${shownTopic(claim.clientId)}.`,
      });
    }
    const badWill = claim.willTopic === undefined ? undefined : whyNotWill(node, claim.willTopic);
    if (badWill !== undefined) {
      return refuse(NOT_AUTHORIZED, { code: 'will-foreign', reason: badWill });
    }
    return 'welcome';
  }

  return {
    preConnect(client, packet, callback) {
      if (packet.clientId === '' && packet.username !== undefined) {
        packet.clientId = packet.username;
      }
      const willTopic = packet.will?.topic;
      claims.set(client, {
        clientId: packet.clientId,
        ...(willTopic === undefined ? {} : { willTopic }),
      });
      callback(null, true);
    },

    authenticate(client, username, password, done) {
      judge(client, username, password).then(
        (answer) => {
          if (answer === 'welcome') done(null, true);
          else done(answer, false);
        },
        (cause: unknown) => {
          log.warn({ cause, username }, 'A secret could not be checked; the node is to come back.');
          // Without a CONNACK: stock clients take any refusal, "server unavailable" too, for the last word.
          client.close();
        },
      );
    },
  };
}

const refusedConnect = (
  returnCode: AuthErrorCode,
  refusal: Pick<Refusal, 'code' | 'reason'>,
): AuthenticateError => Object.assign(new Refused(refusal), { returnCode });
