import { permissions, type Permission } from '@duskline/domain';
import { hashSecretText, newSecretText } from './secret-text.ts';

/** One letter for each permission, so that a token says what it was made for. */
const letters: Readonly<Record<Permission, string>> = {
  read: 'r',
  export: 'x',
  'handle-alerts': 'h',
  'change-nodes': 'c',
  'arrange-people': 'p',
  administer: 'a',
};

const TOKEN = /^dl_([rxhcpa]{1,6})_[A-Za-z0-9_-]{43}$/;

export interface NewApiToken {
  /** Shown once. */
  readonly token: string;
  /** What is kept. */
  readonly hash: Uint8Array;
}

/**
 * A new API token for these permissions. The permissions stand in the text that is hashed: who changes them holds
 * another token, which nobody issued.
 */
export function newApiToken(scope: readonly Permission[]): NewApiToken {
  const token = `dl_${scope.map((one) => letters[one]).join('')}_${newSecretText()}`;
  return { token, hash: hashSecretText(token) };
}

/** What a token says it was made for, or undefined when it is no token of ours. */
export function readApiToken(token: string): readonly Permission[] | undefined {
  const found = TOKEN.exec(token)?.[1];
  return found === undefined
    ? undefined
    : permissions.filter((one) => found.includes(letters[one]));
}
