import { createHash } from 'node:crypto';

/** The stable key of a message: 32 characters of base64url, so that it fits the `Topic` of web push (RFC 8030 §5.4). */
export function callKey(about: readonly (string | number)[]): string {
  return createHash('sha256').update(JSON.stringify(about)).digest('base64url').slice(0, 32);
}
