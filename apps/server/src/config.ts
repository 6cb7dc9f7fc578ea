import { envSchema } from 'env-schema';
import Type, { type Static } from 'typebox';

const port = (fallback: number) => Type.Integer({ minimum: 0, maximum: 65_535, default: fallback });

const EnvironmentSchema = Type.Object({
  DUSKLINE_HTTP_HOST: Type.String({ default: '127.0.0.1' }),
  DUSKLINE_HTTP_PORT: port(8080),
  /** The address people use, when it is not the one above: https behind a proxy. */
  DUSKLINE_PUBLIC_URL: Type.String({ default: '' }),
  DUSKLINE_DATA_DIR: Type.String({ default: '.duskline' }),
  /** Empty: embedded Postgres in the data folder. */
  DUSKLINE_DATABASE_URL: Type.String({ default: '' }),
  DUSKLINE_MQTT_HOST: Type.String({ default: '127.0.0.1' }),
  DUSKLINE_MQTT_PORT: port(1883),
  /** Empty: the embedded broker. Else the address of Mosquitto, which this server then consumes from. */
  DUSKLINE_BROKER_URL: Type.String({ default: '' }),
  /** Of the first intake slot; the others end in -1, -2 … and have the same password. */
  DUSKLINE_BROKER_USERNAME: Type.String({ default: 'ingest-0' }),
  DUSKLINE_BROKER_PASSWORD: Type.String({ default: '' }),
  /** Where Mosquitto's password file is written when nodes are made; empty: not written. */
  DUSKLINE_BROKER_PASSWORD_FILE: Type.String({ default: '' }),
  /** Queues at Mosquitto that servers share between them; at least as many as servers. */
  DUSKLINE_INTAKE_SLOTS: Type.Integer({ minimum: 1, maximum: 8, default: 4 }),
  /** Live messages of one node a second that go before all others; what is above it waits with the backlog. */
  DUSKLINE_LIVE_PER_SECOND: Type.Number({ minimum: 0.1, default: 50 }),
  DUSKLINE_WEB_ROOT: Type.String({ default: '' }),
  DUSKLINE_LOG_LEVEL: Type.String({ default: 'info' }),
});
type Environment = Static<typeof EnvironmentSchema>;

export interface Config {
  readonly http: { readonly host: string; readonly port: number; readonly publicUrl?: string };
  readonly dataDir: string;
  readonly databaseUrl?: string;
  readonly mqtt: { readonly host: string; readonly port: number };
  readonly externalBroker?: {
    readonly url: string;
    readonly username: string;
    readonly password: string;
    readonly passwordFile?: string;
    readonly slots: number;
  };
  readonly livePerSecond?: number;
  readonly webRoot?: string;
  readonly logLevel: string;
}

/** The configuration from the environment: the only place that reads it. */
export function readConfig(environment: NodeJS.ProcessEnv = process.env): Config {
  const env = envSchema<Environment>({ schema: EnvironmentSchema, data: environment, env: false });
  return Object.freeze({
    http: {
      host: env.DUSKLINE_HTTP_HOST,
      port: env.DUSKLINE_HTTP_PORT,
      ...(env.DUSKLINE_PUBLIC_URL === '' ? {} : { publicUrl: env.DUSKLINE_PUBLIC_URL }),
    },
    dataDir: env.DUSKLINE_DATA_DIR,
    ...(env.DUSKLINE_DATABASE_URL === '' ? {} : { databaseUrl: env.DUSKLINE_DATABASE_URL }),
    mqtt: { host: env.DUSKLINE_MQTT_HOST, port: env.DUSKLINE_MQTT_PORT },
    ...(env.DUSKLINE_BROKER_URL === ''
      ? {}
      : {
          externalBroker: {
            url: env.DUSKLINE_BROKER_URL,
            username: env.DUSKLINE_BROKER_USERNAME,
            password: env.DUSKLINE_BROKER_PASSWORD,
            slots: env.DUSKLINE_INTAKE_SLOTS,
            ...(env.DUSKLINE_BROKER_PASSWORD_FILE === ''
              ? {}
              : { passwordFile: env.DUSKLINE_BROKER_PASSWORD_FILE }),
          },
        }),
    livePerSecond: env.DUSKLINE_LIVE_PER_SECOND,
    ...(env.DUSKLINE_WEB_ROOT === '' ? {} : { webRoot: env.DUSKLINE_WEB_ROOT }),
    logLevel: env.DUSKLINE_LOG_LEVEL,
  });
}
