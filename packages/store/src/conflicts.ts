import { StoreConflictError } from './errors.ts';

/** PostgreSQL documentation, Appendix A: unique_violation, foreign_key_violation. */
const CONFLICTS = new Set(['23505', '23503']);

/** Runs a creating statement and says a conflict in our words. */
export async function refusingConflicts<T>(message: string, create: () => Promise<T>): Promise<T> {
  try {
    return await create();
  } catch (error) {
    if (isConflict(error)) throw new StoreConflictError(message, { cause: error });
    throw error;
  }
}

const isConflict = (error: unknown): boolean =>
  error instanceof Error &&
  'code' in error &&
  typeof error.code === 'string' &&
  CONFLICTS.has(error.code);
