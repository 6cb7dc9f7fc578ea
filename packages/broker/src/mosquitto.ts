import { MAX_PACKET_BYTES } from './packet-limit.ts';

/** Where an external Mosquitto finds its files and opens its port. */
export interface MosquittoPlaces {
  readonly port: number;
  /** Network address to listen on; every one when absent. */
  readonly host?: string;
  readonly passwordFile: string;
  readonly aclFile: string;
  /** Folder for queues and retained messages, with a slash at its end. */
  readonly dataDir: string;
}

/** Messages on their way to the consumer at once: what two shared commits can hold. */
const MAX_INFLIGHT = 2000;
/** Not 0 for "no limit": up to 2.0.16 that can leave a client without its PUBACK (seen on 2.0.11 after a denied publish). */
const MAX_QUEUED_MESSAGES = 100_000_000;
/** Two months of twenty nodes at 30 s, while the server is away. */
const MAX_QUEUED_BYTES = 1_073_741_824;
const MAX_KEEPALIVE_S = 1800;

/**
 * The configuration of an external Mosquitto (2.0.17 or newer), with the same rules as the embedded broker as far as
 * Mosquitto can keep them.
 */
export function mosquittoConfig(places: MosquittoPlaces): string {
  const { port, host, passwordFile, aclFile, dataDir } = places;
  return `# Made by mosquittoConfig(); a test holds this file and that function together.
listener ${port}${host === undefined ? '' : ` ${host}`}

# Who: nodes and the server's consumer, by password. A client id is always the user name, whatever the client
# asked for, so that nobody can take over the session of another.
allow_anonymous false
password_file ${passwordFile}
acl_file ${aclFile}
use_username_as_clientid true

# How much. A packet above the limit ends its connection unacknowledged (message_size_limit would acknowledge it
# and drop it). While the server is away its messages wait; beyond max_queued_bytes Mosquitto acknowledges and
# drops, and only nodes that wait for their down/ack send again. memory_limit is left out on purpose: reaching it
# cut the consumer off and ended the broker (2.0.11).
max_packet_size ${MAX_PACKET_BYTES}
max_queued_messages ${MAX_QUEUED_MESSAGES}
max_queued_bytes ${MAX_QUEUED_BYTES}
max_inflight_messages ${MAX_INFLIGHT}
max_keepalive ${MAX_KEEPALIVE_S}
persistent_client_expiration 90d

# What survives a crash: what is older than two seconds. Mosquitto acknowledges before it saves; a node that must lose
# nothing waits for its down/ack. (Saving on every change would lose less, and allow 700 messages a second.)
persistence true
persistence_location ${dataDir}
autosave_interval 1
autosave_on_changes false

log_dest stdout
log_type error
log_type warning
log_type notice
connection_messages false
`;
}

/** User names of the intake slots that the access rules know; a server uses the first few of them. */
export const slotNames: readonly string[] = Array.from(
  { length: 8 },
  (_, slot) => `ingest-${slot}`,
);

/**
 * The access rules for an external Mosquitto: a node publishes and is told only under its own name; the server's
 * consumers hear every node and speak to every node.
 *
 * @param options.consumers user names of the server's consumers
 */
export function mosquittoAcl(options: { readonly consumers: readonly string[] }): string {
  const consumers = options.consumers
    .map((name) => `user ${name}\ntopic read v1/+/up/#\ntopic write v1/+/down/#\n`)
    .join('\n');
  return `# Made by mosquittoAcl(); a test holds this file and that function together.

# The server.
${consumers}
# Every node, under its own name only (%u is the user name).
pattern write v1/%u/up/live
pattern write v1/%u/up/backlog
pattern write v1/%u/up/state
pattern read v1/%u/down/ack
pattern read v1/%u/down/settings
`;
}
