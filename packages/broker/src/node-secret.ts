import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';

const SECRET_BYTES = 32;

/**
 * A new secret for a node: 256 random bits as 43 characters of base64url, to be shown once.
 */
export function newNodeSecret(): string {
  return randomBytes(SECRET_BYTES).toString('base64url');
}

/**
 * What is kept of a secret: SHA-256 of its text. A slow password hash would add nothing to 256 random bits, and a fleet
 * that reconnects at once would keep the processor busy for seconds (OWASP ASVS 5.0, 11.4.2 asks for one only where
 * people choose the secret).
 *
 * @param secret the text, or its UTF-8 bytes as MQTT carries them
 * @returns 32 bytes
 */
export function hashSecret(secret: string | Uint8Array): Uint8Array {
  return createHash('sha256').update(secret).digest();
}

/**
 * Does the secret belong to the hash? Takes the same time whatever the answer, and the same when there is no such node.
 *
 * @param secret what the node sent
 * @param hash   what is kept, or undefined when the name is unknown: never a match
 */
export function secretMatches(secret: string | Uint8Array, hash: Uint8Array | undefined): boolean {
  const offered = hashSecret(secret);
  const known = hash?.length === offered.length ? hash : undefined;
  const equal = timingSafeEqual(offered, known ?? new Uint8Array(offered.length));
  return equal && known !== undefined;
}
