import type {
  AlertJson,
  ClientEvents,
  FleetRowJson,
  PlanNewsJson,
  ServerEvents,
} from '@duskline/contract';
import { MINUTE_MS, SECOND_MS, type Account, type Permission } from '@duskline/domain';
import type { Server as HttpServer } from 'node:http';
import { Server, type DefaultEventsMap, type Socket } from 'socket.io';
import { coalesceByKey } from './coalesce-by-key.ts';
import { cutOff, waitingBytes } from './engine-connection.ts';
import { guardEvents, type GuardedHandler } from './event-policy.ts';
import { bearerOf, handshakeFault } from './handshake.ts';
import type { Authenticate, LivePrincipal } from './live-principal.ts';
import { slowReader } from './slow-reader.ts';

export interface LiveOptions {
  /** The server of the API; the socket answers below /socket.io/. */
  readonly server: HttpServer;
  /** Asked at the handshake, at each event, and every minute: a session that ended takes its sockets with it. */
  readonly authenticate: Authenticate;
  /** Origins of pages that may connect, beside the one the server is addressed by. */
  readonly origins?: readonly string[];
  /** A reader that has had more than this waiting for it for some seconds is cut off; it comes back and asks for everything. Default 4 MiB. */
  readonly maxWaitingBytes?: number;
  /** For how long. Default 5 s. */
  readonly slowReaderMs?: number;
  /** Rows of one site are at least this far apart. Default 1 s. */
  readonly rowGapMs?: number;
  /** How often sessions are looked at again. Default one minute. */
  readonly recheckMs?: number;
}

export interface Live {
  /** Sends a row to everybody who watches: the newest of each site, at most once a second. */
  readonly publishRow: (row: FleetRowJson) => void;
  readonly publishAlert: (alert: AlertJson) => void;
  readonly publishPlans: (news: PlanNewsJson) => void;
  /** Something may have been missed: everybody asks the API again. */
  readonly resync: () => void;
  /** Closes the sockets of an account. Those whose session still holds come back by themselves. */
  readonly endSession: (account: Account) => void;
  /** Closes all sockets and stops. The HTTP server stays. */
  readonly close: () => Promise<void>;
}

interface SocketFacts {
  principal: LivePrincipal;
}
type LiveServer = Server<ClientEvents, ServerEvents, DefaultEventsMap, SocketFacts>;
type LiveSocket = Socket<ClientEvents, ServerEvents, DefaultEventsMap, SocketFacts>;

const FLEET = 'fleet';
/** Those who see some sites only: each is told of its own. */
const SOME_SITES = 'some-sites';
/** Pages say one word; nothing they send comes near this. */
const MAX_MESSAGE_BYTES = 64 * 1024;
const MAX_WAITING_BYTES = 4 * 1024 * 1024;
const SLOW_READER_MS = 5 * SECOND_MS;

/** Tells pages what changed, as it changes. */
export function createLive(options: LiveOptions): Live {
  const {
    maxWaitingBytes = MAX_WAITING_BYTES,
    slowReaderMs = SLOW_READER_MS,
    rowGapMs = SECOND_MS,
  } = options;
  const io = openServer(options);
  const handlers = guardEvents<LiveSocket>({
    'watch-fleet': async (socket, done) => {
      await socket.join(roomOf(socket));
      done();
    },
  });
  io.on('connection', (socket) => serve(socket, handlers, options.authenticate));

  const isSlow = slowReader<LiveSocket>({ maxWaitingBytes, patienceMs: slowReaderMs });
  const dropSlowReaders = (): void => {
    for (const socket of io.sockets.sockets.values())
      if (isSlow(socket, waitingBytes(socket.conn), performance.now())) cutOff(socket.conn);
  };
  const rechecking = setInterval(() => {
    dropSlowReaders();
    for (const socket of io.sockets.sockets.values())
      void admit(socket, 'read', options.authenticate);
  }, options.recheckMs ?? MINUTE_MS);
  rechecking.unref();

  /** @param siteId what it is about; undefined: everybody's business */
  const tell = <E extends keyof ServerEvents>(
    siteId: string | undefined,
    event: E,
    ...said: Parameters<ServerEvents[E]>
  ) => {
    dropSlowReaders();
    io.to(FLEET).emit(event, ...said);
    for (const id of io.sockets.adapter.rooms.get(SOME_SITES) ?? []) {
      const socket = io.sockets.sockets.get(id);
      if (socket !== undefined && sees(socket, siteId)) socket.emit(event, ...said);
    }
  };
  const rows = coalesceByKey<FleetRowJson>({
    gapMs: rowGapMs,
    keyOf: (row) => row.site.id,
    supersedes: (next, held) => next.site.version >= held.site.version,
    send: (row) => tell(row.site.id, 'site', row),
  });

  return {
    publishRow: rows.offer,
    publishAlert: (alert) => tell(siteOf(alert), 'alert', alert),
    publishPlans: (news) => tell(news.kind === 'visit' ? news.siteId : undefined, 'plans', news),
    resync: () => tell(undefined, 'resync'),
    endSession(account) {
      for (const socket of io.sockets.sockets.values())
        if (socket.data.principal.account.id === account.id) leave(socket);
    },
    async close() {
      clearInterval(rechecking);
      rows.stop();
      io.engine.close();
    },
  };
}

function openServer({ server, authenticate, origins = [] }: LiveOptions): LiveServer {
  const io: LiveServer = new Server(server, {
    serveClient: false,
    transports: ['websocket'],
    maxHttpBufferSize: MAX_MESSAGE_BYTES,
    perMessageDeflate: false,
    allowRequest: ({ headers }, answer) => {
      const fault = handshakeFault(headers, origins);
      answer(fault, fault === undefined);
    },
  });
  io.use((socket, next) => {
    identify(socket, authenticate).then(
      (principal) => {
        if (principal === undefined) return next(new Error('sign-in-needed'));
        socket.data.principal = principal;
        return next();
      },
      () => next(new Error('not-ready')),
    );
  });
  return io;
}

const identify = (socket: LiveSocket, authenticate: Authenticate) => {
  const { headers } = socket.handshake;
  return authenticate(headers.cookie, bearerOf(headers));
};

/** An alert about the fleet names no site. */
const siteOf = ({ siteId }: AlertJson): string | undefined => siteId || undefined;

const roomOf = (socket: LiveSocket): string =>
  socket.data.principal.account.onlySites === undefined ? FLEET : SOME_SITES;

/** Whoever watches and was put into a group of sites since, or taken out of the last one, is told otherwise from now on. */
async function settle(socket: LiveSocket): Promise<void> {
  const room = roomOf(socket);
  for (const other of [FLEET, SOME_SITES])
    if (other !== room && socket.rooms.has(other)) {
      await socket.leave(other);
      await socket.join(room);
    }
}

const sees = ({ data }: LiveSocket, siteId: string | undefined): boolean =>
  siteId === undefined || (data.principal.account.onlySites?.some((id) => id === siteId) ?? true);

/** Lets through declared events of senders who may send them still; whoever says anything else has no business here. */
function serve(
  socket: LiveSocket,
  handlers: ReadonlyMap<string, GuardedHandler<LiveSocket>>,
  authenticate: Authenticate,
): void {
  socket.onAny((event: string, ...said: unknown[]) => {
    const handler = handlers.get(event);
    if (handler === undefined) return leave(socket);
    const done = answerOf(said);
    admit(socket, handler.allow, authenticate)
      .then((admitted) => (admitted ? handler.handle(socket, done) : undefined))
      .catch(() => leave(socket));
  });
}

/** Events that want an answer bring, last, a function to call. */
function answerOf(said: readonly unknown[]): () => void {
  const answer = said.at(-1);
  return typeof answer === 'function' ? (answer as () => void) : () => undefined;
}

/** Is the sender still who they were, and may they do this? Else the connection ends. */
async function admit(
  socket: LiveSocket,
  needed: Permission,
  authenticate: Authenticate,
): Promise<boolean> {
  try {
    const principal = await identify(socket, authenticate);
    if (principal?.permissions.includes(needed) === true) {
      socket.data.principal = principal;
      await settle(socket);
      return true;
    }
  } catch {
    // The store is away: nobody's rights can be told, and the page comes back when they can.
  }
  leave(socket);
  return false;
}

/**
 * Closes the connection under the socket, not the socket: a page takes that for a fault of the network and connects
 * again by itself, as far as its session lets it.
 */
function leave(socket: LiveSocket): void {
  socket.conn.close(true);
}
