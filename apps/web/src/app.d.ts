import type { SessionJson } from '@duskline/contract';

declare global {
  namespace App {
    interface PageData {
      /** Set on every page behind the sign-in. */
      session?: SessionJson;
    }
    interface Error {
      message: string;
      /** Stable, from the API's problem details. */
      code?: string;
    }
  }
}

export {};
