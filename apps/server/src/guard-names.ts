import { isServerName } from '@duskline/broker';
import { StoreConflictError, type Store } from '@duskline/store';

/** No node may bear a name of the server's own consumers: with Mosquitto it would be given their rights. */
export function guardNames(nodes: Store['nodes']): Store['nodes'] {
  return {
    ...nodes,
    create: (node, secretHash) =>
      isServerName(node.name)
        ? Promise.reject(
            new StoreConflictError(
              `The name ${node.name} belongs to the server itself; choose another.`,
            ),
          )
        : nodes.create(node, secretHash),
  };
}
