import { createHash } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import type { FieldNode, NodeName, SiteId } from '@duskline/domain';
import { openTestStore } from '@duskline/test-harness';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { StoreConflictError } from './errors.ts';
import type { Store } from './store.ts';
import { createExampleNode, exampleSite } from './testing/example-fleet.ts';

let url: string;
let store: Store;
beforeAll(() => openTestStore((opened) => ({ store, url } = opened)));
/** All of a node but its number. */
const designOf = ({ id: _id, ...design }: FieldNode): Omit<FieldNode, 'id'> => design;
const hash = (text: string) => createHash('sha256').update(text).digest();

describe('accounts', () => {
  it('are found by their address in any letter case, once each', async () => {
    const made = await store.accounts.create({
      email: 'Wren@Greywater.example',
      name: 'Wren Halloway',
      role: 'keeper',
      passwordHash: 'hashed',
    });
    expect(made).toMatchObject({ email: 'Wren@Greywater.example', role: 'keeper' });
    expect(await store.accounts.findByEmail('wren@greywater.EXAMPLE')).toEqual({
      account: made,
      passwordHash: 'hashed',
    });
    expect(await store.accounts.findByEmail('nobody@greywater.example')).toBeUndefined();
    await expect(
      store.accounts.create({
        email: 'wren@greywater.example',
        name: 'Other',
        role: 'viewer',
        passwordHash: '',
      }),
    ).rejects.toThrow(StoreConflictError);
    expect(await store.accounts.count()).toBe(1);
  });

  it('are reached by a session until it ends, and by a token until it runs out', async () => {
    const found = await store.accounts.findByEmail('wren@greywater.example');
    if (found === undefined) throw new Error('no account');
    const { account } = found;
    const soonMs = Date.now() + 60_000;
    await store.accounts.createSession(account.id, hash('session'), soonMs);
    await store.accounts.createSession(account.id, hash('old session'), Date.now() - 1000);
    expect(await store.accounts.findSession(hash('session'))).toEqual(account);
    expect(await store.accounts.findSession(hash('old session'))).toBeUndefined();
    await store.accounts.endSession(hash('session'));
    expect(await store.accounts.findSession(hash('session'))).toBeUndefined();

    const token = { accountId: account.id, name: 'export' };
    await store.accounts.createToken({ ...token, tokenHash: hash('for ever') });
    await store.accounts.createToken({ ...token, tokenHash: hash('soon'), expiresAtMs: soonMs });
    await store.accounts.createToken({
      ...token,
      tokenHash: hash('over'),
      expiresAtMs: Date.now() - 1000,
    });
    expect(await store.accounts.findToken(hash('for ever'))).toEqual(account);
    expect(await store.accounts.findToken(hash('soon'))).toEqual(account);
    expect(await store.accounts.findToken(hash('over'))).toBeUndefined();
    expect(await store.accounts.findToken(hash('guess'))).toBeUndefined();
  });
});

describe('sites and nodes', () => {
  it('are created once, found again as they were, and keep only the hash of the secret', async () => {
    const node = await createExampleNode(store, 'thornhow');
    expect(await store.sites.find('thornhow' as SiteId)).toEqual(
      exampleSite('thornhow', 'thornhow'),
    );
    expect(await store.nodes.find(node.id)).toEqual(node);
    expect(await store.nodes.findByName(node.name)).toEqual(node);
    expect(await store.nodes.list()).toEqual([node]);
    expect(await store.nodes.findByName('nobody' as NodeName)).toBeUndefined();
    await expect(createExampleNode(store, 'thornhow')).rejects.toThrow(StoreConflictError);
    const design = designOf(node);
    await expect(store.nodes.create(design, hash('x'))).rejects.toThrow(StoreConflictError);
    await expect(
      store.nodes.create(
        { ...design, name: 'thornhow-2' as NodeName, siteId: 'nowhere' as SiteId },
        hash('x'),
      ),
    ).rejects.toThrow(StoreConflictError);
    expect(await store.nodes.setSecretHash(node.name, hash('new secret'))).toBe(true);
    expect(await store.nodes.setSecretHash('nobody' as NodeName, hash('x'))).toBe(false);
    const kept = await store.nodes.secretHash(node.name);
    expect(kept && Buffer.from(kept).equals(hash('new secret'))).toBe(true);
  });

  it('keep an absence from work with its owner and its end', async () => {
    const node = await createExampleNode(store, 'moorgate-culvert');
    const design = designOf(node);
    const offForWork = { owner: 'Tobin Ashgrove', fromMs: 1, untilMs: 2, reason: 'new mast' };
    const made = await store.nodes.create(
      { ...design, name: 'moorgate-culvert-2' as NodeName, offForWork },
      hash('x'),
    );
    expect(await store.nodes.find(made.id)).toEqual(made);
    expect(made.offForWork).toEqual(offForWork);
  });
});

describe('leases', () => {
  it('belong to one holder at a time, by the clock of the database, and every change raises the fence', async () => {
    expect(await store.leases.take('sweep', 'a', 60_000)).toEqual({ fence: 1 });
    expect(await store.leases.take('sweep', 'b', 60_000)).toBeUndefined();
    expect(await store.leases.take('sweep', 'a', 60_000)).toEqual({ fence: 1 });
    expect(await store.leases.renew('sweep', 'b', 60_000)).toBe(false);
    expect(await store.leases.renew('sweep', 'a', 20)).toBe(true);
    await sleep(60);
    expect(await store.leases.renew('sweep', 'a', 60_000)).toBe(false);
    expect(await store.leases.take('sweep', 'b', 60_000)).toEqual({ fence: 2 });
    await store.leases.release('sweep', 'a');
    expect(await store.leases.take('sweep', 'a', 60_000)).toBeUndefined();
    await store.leases.release('sweep', 'b');
    expect(await store.leases.take('sweep', 'b', 60_000)).toEqual({ fence: 3 });
  });

  it('go to exactly one of many that ask at the same moment', async () => {
    const asked = await Promise.all(
      Array.from({ length: 12 }, (_, index) => store.leases.take('outlooks', `h${index}`, 60_000)),
    );
    expect(asked.filter((lease) => lease !== undefined)).toEqual([{ fence: 1 }]);
  });
});

describe('following a channel', () => {
  it('comes back after the connection was ended, and says that something may have been missed', async () => {
    const sql = postgres(url, { max: 1 });
    const heard: string[] = [];
    const stop = await store.listen(
      'duskline_test',
      (payload) => heard.push(payload),
      () => heard.push('resync'),
    );
    await sql`select pg_notify('duskline_test', 'one')`;
    await expect.poll(() => heard).toEqual(['one']);
    await sql`
      select pg_terminate_backend(pid) from pg_stat_activity
      where datname = current_database() and query ilike 'listen%'`;
    await expect.poll(() => heard, { timeout: 10_000 }).toEqual(['one', 'resync']);
    await sql`select pg_notify('duskline_test', 'two')`;
    await expect.poll(() => heard).toEqual(['one', 'resync', 'two']);
    await stop();
    await sql`select pg_notify('duskline_test', 'three')`;
    await store.ping();
    await sql.end();
    expect(heard).toEqual(['one', 'resync', 'two']);
  });
});
