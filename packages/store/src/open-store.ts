import type { Store, StoreOptions } from './store.ts';

/** Opens the store; it does not migrate. */
export async function openStore(options: StoreOptions): Promise<Store> {
  throw new Error(`under construction: ${options.url}`);
}
