import type { ApiProblem } from '../replies/api-problem.ts';

/** Does what the store may refuse because somebody else was quicker, and says so when it does. */
export async function refuseConflict<T>(write: () => Promise<T>, taken: ApiProblem): Promise<T> {
  try {
    return await write();
  } catch (error) {
    if (error instanceof Error && error.name === 'StoreConflictError') throw taken;
    throw error;
  }
}
