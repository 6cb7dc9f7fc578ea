import type { Account } from '@duskline/domain';
import type { Store } from '@duskline/store';
import { randomBytes } from 'node:crypto';

/** The keeper of a new installation, with the password that is shown this once. */
export interface FirstAccount {
  readonly account: Account;
  readonly password: string;
}

/**
 * Makes the one account of a first start, if there is none at all.
 *
 * @returns undefined when somebody is there already
 */
export async function makeFirstAccount(
  store: Store,
  hashPassword: (password: string) => Promise<string>,
  email: string,
): Promise<FirstAccount | undefined> {
  if ((await store.accounts.count()) > 0) return undefined;
  // 120 bits in letters that survive being read aloud: longer than anybody would choose.
  const password = randomBytes(15).toString('base64url');
  const account = await store.accounts.create({
    email,
    name: 'Keeper',
    role: 'keeper',
    passwordHash: await hashPassword(password),
  });
  return { account, password };
}
