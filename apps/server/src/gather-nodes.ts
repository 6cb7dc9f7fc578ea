import type { NodeId } from '@duskline/domain';

/**
 * Gathers nodes that changed, each once, and hands them on together: a thousand changes a second are some questions to the
 * database, not thousands. One hand-over at a time: what changes meanwhile waits for the next.
 *
 * @param options.waitMs  a first change waits this long for others
 * @param options.handOn  gets them in the order of their first change
 */
export function gatherNodes(options: {
  readonly waitMs: number;
  readonly handOn: (nodes: readonly NodeId[]) => Promise<void>;
  readonly onFault: (cause: unknown) => void;
}): { readonly add: (node: NodeId) => void; readonly stop: () => Promise<void> } {
  let waiting = new Set<NodeId>();
  let timer: ReturnType<typeof setTimeout> | undefined;
  let running: Promise<void> | undefined;

  function later(): void {
    timer ??= setTimeout(() => {
      timer = undefined;
      const nodes = [...waiting];
      waiting = new Set();
      running = options
        .handOn(nodes)
        .catch(options.onFault)
        .finally(() => {
          running = undefined;
          if (waiting.size > 0) later();
        });
    }, options.waitMs);
  }
  return {
    add(node) {
      waiting.add(node);
      if (running === undefined) later();
    },
    async stop() {
      clearTimeout(timer);
      waiting.clear();
      await running;
    },
  };
}
