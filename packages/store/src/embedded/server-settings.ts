/** `crash-safe` for every real use; `none` is faster and loses data when the power fails: for tests. */
export type Durability = 'crash-safe' | 'none';

/**
 * Settings of an embedded server, given at every start so that they can change with the program.
 *
 * Sized for a small computer. Without Unix sockets no length of the data folder's path matters; the
 * server is reachable from this machine only, with a password.
 *
 * @param port where to listen on the loopback address.
 */
export function serverSettings(
  port: number,
  durability: Durability,
): Readonly<Record<string, string>> {
  const flushing = durability === 'crash-safe' ? 'on' : 'off';
  return {
    listen_addresses: '127.0.0.1',
    port: String(port),
    unix_socket_directories: '',
    max_connections: '60',
    shared_buffers: '64MB',
    min_wal_size: '64MB',
    max_wal_size: '512MB',
    fsync: flushing,
    synchronous_commit: flushing,
    full_page_writes: flushing,
    jit: 'off',
    timezone: 'UTC',
    log_timezone: 'UTC',
    lc_messages: 'C',
    log_min_messages: 'warning',
    log_checkpoints: 'off',
    // A client that vanished without a word is noticed within two minutes.
    tcp_keepalives_idle: '60',
    tcp_keepalives_interval: '20',
    tcp_keepalives_count: '3',
  };
}
