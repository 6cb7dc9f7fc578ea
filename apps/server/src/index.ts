export { readConfig, type Config } from './config.ts';
export { createFleetLook, type FleetLook, type OwnHealth } from './fleet-look.ts';
export { createPipeline, type Pipeline, type PipelineDeps } from './pipeline.ts';
export { startServer, type RunningServer } from './start-server.ts';
