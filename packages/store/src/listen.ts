import type { Sql } from 'postgres';
import type { Store } from './store.ts';

/** Follows channels over the driver's own listening connection, which comes back by itself. */
export function createListen(sql: Sql): Store['listen'] {
  return async (channel, onMessage, onResync) => {
    let following = true;
    let connected = false;
    const listening = await sql.listen(
      channel,
      (payload) => {
        if (following) onMessage(payload);
      },
      () => {
        if (connected && following) onResync();
        connected = true;
      },
    );
    return async () => {
      // After a reconnection the driver no longer knows whom to take off; then this flag does it.
      following = false;
      await listening.unlisten();
    };
  };
}
