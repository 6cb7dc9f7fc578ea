import type {
  RuntimeJson,
  RuntimeRequestJson,
  SizingJson,
  SizingRequestJson,
} from '@duskline/contract';
import type { Result } from '@duskline/domain';

/** What cannot be sized as it was put. `pointer` is an RFC 6901 pointer into the question. */
export interface SizingFault {
  readonly pointer: string;
  readonly detail: string;
}

/** Works out sizes; the server supplies it. Where it is not given, its two routes do not exist. */
export interface SizingPort {
  size(request: SizingRequestJson): Result<SizingJson, readonly SizingFault[]>;
  runtime(request: RuntimeRequestJson): Result<RuntimeJson, readonly SizingFault[]>;
}
