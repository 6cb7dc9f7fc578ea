export {
  createDatabase,
  createTestDatabase,
  dropDatabase,
  testRunServer,
  type TestDatabase,
} from './create-test-database.ts';
export { freePort } from './free-port.ts';
export { launchBrowser } from './launch-browser.ts';
export { newTestContext } from './new-test-context.ts';
export { openTestStore, type TestStore } from './open-test-store.ts';
export {
  DEFAULT_CONSUMER,
  startMosquitto,
  whyNoMosquitto,
  type BrokerAccount,
  type MosquittoOptions,
  type TestMosquitto,
} from './start-mosquitto.ts';
export { startTestPostgres, type TestPostgres } from './start-test-postgres.ts';
export { wantedBackend, whyNoDocker, type TestBackend } from './test-backend.ts';
export { waitFor, type WaitOptions } from './wait-for.ts';
