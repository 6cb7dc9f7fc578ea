import { openTestStore } from '@duskline/test-harness';
import { beforeAll, expect, it } from 'vitest';
import type { Store } from './index.ts';

let stores: Store[];
beforeAll(() =>
  openTestStore(async ({ store, openAnother }) => {
    stores = [store, await openAnother()];
  }),
);

it('is the same for every server, whoever offered first', async () => {
  const got = await Promise.all(
    stores.flatMap((store, i) =>
      [1, 2, 3].map((n) => store.serverSecrets.keep('push', `${i}${n}`)),
    ),
  );
  expect(new Set(got).size).toBe(1);
  expect(await stores[0]?.serverSecrets.keep('push', 'later')).toBe(got[0]);
  expect(await stores[0]?.serverSecrets.keep('other', 'x')).toBe('x');
});
