import { hashSecret, newNodeSecret } from '@duskline/broker';
import { MINUTE_MS, type NodeName } from '@duskline/domain';
import type { Line } from './open-line.ts';

/** Mosquitto wants the secret itself, the store only its hash: the text is held from its making until it is handed over. */
export function createSecretDesk(line: Pick<Line, 'onSecret'>) {
  const issued = new Map<string, string>();
  const keyOf = (hash: Uint8Array) => Buffer.from(hash).toString('hex');
  return {
    issue: (): string => {
      const secret = newNodeSecret();
      const key = keyOf(hashSecret(secret));
      issued.set(key, secret);
      setTimeout(() => issued.delete(key), MINUTE_MS).unref();
      return secret;
    },
    hand: async (node: NodeName, hash: Uint8Array): Promise<void> => {
      const secret = issued.get(keyOf(hash));
      issued.delete(keyOf(hash));
      if (secret !== undefined) await line.onSecret(node, secret);
    },
  };
}
