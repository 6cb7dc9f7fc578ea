export * from './alert.ts';
export * from './live.ts';
export * from './outlook.ts';
export * from './problem.ts';
export * from './readings.ts';
export * from './session.ts';
export * from './setup.ts';
export * from './site.ts';
