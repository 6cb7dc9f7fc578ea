export { decodeAck, encodeAck } from './ack.ts';
export {
  decodeMessage,
  type DecodedMessage,
  type DecodedReading,
  type DecodedWord,
  type UptimeAnchor,
} from './decode-message.ts';
export {
  encodeMessage,
  type MessageFormat,
  type OutgoingMessage,
  type OutgoingSample,
  type OutgoingTime,
} from './encode-message.ts';
export {
  encodeDropped,
  encodeFarewell,
  encodeHello,
  encodeSettingsInForce,
  type Farewell,
  type Hello,
  type StateFrame,
} from './encode-state.ts';
export { WireEncodeError } from './errors.ts';
export { faultCodes, type FaultCode, type WireFault } from './faults.ts';
export { type Inflate, type ReadOptions } from './read-payload.ts';
export { resolveMessage } from './resolve-message.ts';
export { isRelativeTime, resolvePack, type ResolvedRecord } from './resolve-pack.ts';
export { salvagePlace } from './salvage-place.ts';
export { decodeSenmlCbor, encodeSenmlCbor } from './senml-cbor.ts';
export { decodeSenmlJson, encodeSenmlJson } from './senml-json.ts';
export { type SenmlRecord } from './senml-record.ts';
export { decodeSettingsRequest, encodeSettingsRequest } from './settings-request.ts';
export { LONGEST_INTERVAL_S } from './settings-limits.ts';
export { parseTopic, topicFor, type TopicKind, type UpKind, type UpTopic } from './topics.ts';
export { convertUnit, isUnit } from './units.ts';
