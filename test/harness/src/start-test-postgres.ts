import { EmbeddedPostgresError, startEmbeddedPostgres } from '@duskline/store';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { loadTestcontainers } from './load-testcontainers.ts';
import { wantedBackend, whyNoDocker } from './test-backend.ts';

/** A Postgres server for tests. */
export interface TestPostgres {
  /** Of a database that test databases can be created from. */
  readonly adminUrl: string;
  /** What it is and why, in one line. */
  readonly description: string;
  /** SIGKILL to the whole server; only there for an embedded one, which comes back by itself. */
  readonly kill9?: () => void;
  readonly stop: () => Promise<void>;
}

/**
 * Starts a server as DUSKLINE_TEST_BACKEND wants it: `process` uses the server at DUSKLINE_TEST_DATABASE_URL when that
 * is set, else one of our own from the npm binaries; `containers` an image (DUSKLINE_TEST_POSTGRES_IMAGE).
 *
 * @throws Error that says what is missing.
 */
export async function startTestPostgres(): Promise<TestPostgres> {
  const wanted = wantedBackend();
  if (wanted === 'containers') return startContainer('DUSKLINE_TEST_BACKEND=containers');
  const given = process.env['DUSKLINE_TEST_DATABASE_URL'];
  if (given !== undefined && given !== '') return useGiven(given);
  try {
    return await startEmbedded();
  } catch (error) {
    const missing = error instanceof EmbeddedPostgresError && error.code === 'no-binaries';
    if (!missing || wanted === 'process') throw error;
    return startContainer('there are no Postgres programs from npm for this platform');
  }
}

function useGiven(adminUrl: string): TestPostgres {
  return {
    adminUrl,
    description: `processes: the Postgres at ${new URL(adminUrl).host}, by DUSKLINE_TEST_DATABASE_URL`,
    stop: () => Promise.resolve(),
  };
}

async function startEmbedded(): Promise<TestPostgres> {
  const folder = await mkdtemp(path.join(tmpdir(), 'duskline-test-postgres-'));
  const server = await startEmbeddedPostgres({ dataDir: folder, durable: false }).catch(
    async (error: unknown) => {
      await rm(folder, { recursive: true, force: true });
      throw error;
    },
  );
  return {
    adminUrl: server.url,
    description: `processes: Postgres from npm on port ${server.port}`,
    kill9: () => process.kill(server.pid(), 'SIGKILL'),
    stop: async () => {
      await server.stop();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

async function startContainer(because: string): Promise<TestPostgres> {
  const whyNot = await whyNoDocker();
  if (whyNot !== undefined) {
    throw new Error(`Tests want a Postgres container (${because}), but ${whyNot}.`);
  }
  const image = process.env['DUSKLINE_TEST_POSTGRES_IMAGE'] ?? 'postgres:17';
  await loadTestcontainers();
  const { PostgreSqlContainer } = await import('@testcontainers/postgresql');
  const container = await new PostgreSqlContainer(image)
    .withCommand(['postgres', '-c', 'fsync=off', '-c', 'max_connections=200'])
    .start();
  return {
    adminUrl: container.getConnectionUri(),
    description: `containers: Postgres from the image ${image} (${because})`,
    stop: async () => {
      await container.stop();
    },
  };
}
