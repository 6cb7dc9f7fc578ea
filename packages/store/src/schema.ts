import type {
  DataPlan,
  LandOwner,
  NodeName,
  PowerSystem,
  Role,
  SiteId,
  WorkNotice,
} from '@duskline/domain';
import type { ColumnType, Generated } from 'kysely';

/** Epoch milliseconds both ways (database/value-types.ts). */
type Instant = ColumnType<number, number, number>;
type NullableInstant = ColumnType<number | null, number | null, number | null>;

/** The tables that are read and written through Kysely; the others have statements of their own. */
export interface Tables {
  site: {
    id: SiteId;
    name: string;
    latitude_deg: number;
    longitude_deg: number;
    elevation_m: number;
    time_zone: string;
    access: string;
    hazards: string;
    critical: Generated<boolean>;
    clearness: readonly number[] | null;
    land_owner: Generated<LandOwner | null>;
  };
  node: {
    id: Generated<number>;
    name: NodeName;
    site_id: SiteId;
    secret_hash: Uint8Array;
    power: PowerSystem;
    commissioned_at: Instant;
    retired_at: NullableInstant;
    off_for_work: WorkNotice | null;
    link: string | null;
    data_plan: DataPlan | null;
  };
  account: {
    id: Generated<string>;
    email: string;
    name: string;
    role: Role;
    password_hash: string;
    ended_at: NullableInstant;
  };
  session: {
    token_hash: Uint8Array;
    account_id: string;
    expires_at: Instant;
  };
  api_token: {
    token_hash: Uint8Array;
    account_id: string;
    name: string;
    expires_at: NullableInstant;
  };
}
