export type { BrokerLog } from './broker-log.ts';
export { BrokerStartError, type BrokerStartCode } from './broker-start-error.ts';
export {
  startEmbeddedBroker,
  type EmbeddedBroker,
  type EmbeddedBrokerOptions,
} from './embedded-broker.ts';
export { mosquittoAcl, mosquittoConfig, slotNames, type MosquittoPlaces } from './mosquitto.ts';
export {
  isServerName,
  mosquittoPasswordLine,
  removeMosquittoPassword,
  writeMosquittoPassword,
} from './mosquitto-passwords.ts';
export { hashSecret, newNodeSecret, secretMatches } from './node-secret.ts';
export { MAX_PACKET_BYTES } from './packet-limit.ts';
export type { Refusal, RefusalCode } from './refusal.ts';
