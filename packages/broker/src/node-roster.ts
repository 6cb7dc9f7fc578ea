import type { NodeName } from '@duskline/domain';
import type { Aedes, Client } from 'aedes';

/** Which nodes are connected, and by which connection. */
export interface NodeRoster {
  readonly of: (name: NodeName) => Client | undefined;
  /** The node a connection was granted to; undefined before that and after its end. */
  readonly nodeOf: (client: Client) => NodeName | undefined;
  readonly names: () => readonly NodeName[];
  readonly clients: () => readonly Client[];
}

export function keepRoster(aedes: Aedes): NodeRoster {
  const clients = new Map<string, Client>();
  aedes.on('client', (client) => clients.set(client.id, client));
  aedes.on('clientDisconnect', (client) => {
    if (clients.get(client.id) === client) clients.delete(client.id);
  });
  return {
    of: (name) => clients.get(name),
    nodeOf: (client) => (clients.get(client.id) === client ? (client.id as NodeName) : undefined),
    names: () => [...clients.keys()] as NodeName[],
    clients: () => [...clients.values()],
  };
}
