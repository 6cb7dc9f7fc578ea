import type { ClientEvents, PlanNewsJson, ServerEvents } from '@duskline/contract';
import { SECOND_MS } from '@duskline/domain';
import { io, type Socket } from 'socket.io-client';
import { createSubscriber } from 'svelte/reactivity';
import type { LiveEvent } from '../fleet/apply-live-event.ts';

const COME_BACK_MS = 5 * SECOND_MS;

export interface LiveListener {
  onEvent?(event: LiveEvent): void;
  /** A visit or the rota was changed: whoever shows it asks the API again. */
  onPlans?(news: PlanNewsJson): void;
  /** Something may have been missed: ask the API again. */
  onResync(): void;
}

/** The one socket. It is open while somebody reads `connected`, and follows all sites. */
export class LiveConnection {
  #connected = false;
  #lostAtMs: number | undefined;
  #listeners: readonly LiveListener[] = [];
  readonly #subscribe = createSubscriber((update) => {
    const socket: Socket<ServerEvents, ClientEvents> = io({
      path: '/socket.io',
      transports: ['websocket'],
    });
    const set = (connected: boolean): void => {
      if (this.#connected && !connected) this.#lostAtMs = Date.now();
      this.#connected = connected;
      update();
    };
    const resync = (): void => {
      for (const listener of this.#listeners) listener.onResync();
    };
    const tell = (event: LiveEvent): void => {
      for (const listener of this.#listeners) listener.onEvent?.(event);
    };
    socket.on('connect', () => {
      // Whatever happened before the room was joined was not heard: ask again, never guess.
      socket.emit('watch-fleet', () => {
        set(true);
        resync();
      });
    });
    // The client comes back by itself from a lost link, but not when the server sent it away or would not let it in.
    let comingBack: ReturnType<typeof setTimeout> | undefined;
    const comeBackLater = (): void => {
      clearTimeout(comingBack);
      comingBack = setTimeout(() => socket.connect(), COME_BACK_MS);
    };
    socket.on('disconnect', (reason) => {
      set(false);
      if (reason !== 'io server disconnect') return;
      // Asked again, the API says whether the session is over, and the page goes to the sign-in.
      resync();
      comeBackLater();
    });
    socket.on('connect_error', ({ message }) => {
      if (message === 'sign-in-needed') resync();
      if (!socket.active) comeBackLater();
    });
    socket.on('site', (row) => {
      tell({ kind: 'site', row });
    });
    socket.on('alert', (alert) => {
      tell({ kind: 'alert', alert });
    });
    socket.on('plans', (news) => {
      for (const listener of this.#listeners) listener.onPlans?.(news);
    });
    socket.on('resync', resync);
    return () => {
      clearTimeout(comingBack);
      this.#connected = false;
      socket.close();
    };
  });

  get connected(): boolean {
    this.#subscribe();
    return this.#connected;
  }

  /** When the connection was last lost; undefined when it never was. */
  get lostAtMs(): number | undefined {
    this.#subscribe();
    return this.#lostAtMs;
  }

  /** @returns how to stop listening */
  listen(listener: LiveListener): () => void {
    this.#listeners = [...this.#listeners, listener];
    return () => {
      this.#listeners = this.#listeners.filter((kept) => kept !== listener);
    };
  }
}
