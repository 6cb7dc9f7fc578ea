export { apparentElevationDeg } from './apparent-elevation.ts';
export { cellTemperatureC, DEFAULT_WIND_MS } from './cell-temperature.ts';
export { clearSky, DEFAULT_LINKE_TURBIDITY, type Irradiance } from './clear-sky.ts';
export { clearSkyPanelW } from './clear-sky-panel.ts';
export { dailyExtraterrestrialMj } from './daily-extraterrestrial.ts';
export { type DayUnderClouds, dayUnderClouds } from './day-under-clouds.ts';
export { diffuseModifiers } from './diffuse-modifiers.ts';
export { erbsDiffuseFraction } from './erbs-diffuse-fraction.ts';
export { EnergyInputError } from './errors.ts';
export {
  dayOfYear,
  extraterrestrialNormalWm2,
  SOLAR_CONSTANT_WM2,
} from './extraterrestrial-normal.ts';
export { incidenceCosine } from './incidence-cosine.ts';
export { incidenceModifier } from './incidence-modifier.ts';
export { nightsBetween } from './nights-between.ts';
export { createPanelChain, type PanelChainInputs, REFERENCE_DERATE } from './panel-chain.ts';
export { DEFAULT_GAMMA_PER_K, panelDcW } from './panel-dc.ts';
export { type CurvePoints, interpolate, interpolateInverse } from './piecewise.ts';
export { DEFAULT_ALBEDO, planeOfArray, type PlaneIrradiance } from './plane-of-array.ts';
export { pressurePa } from './pressure.ts';
export { referenceHourlyWh } from './reference-hourly.ts';
export { relativeAirMass } from './relative-air-mass.ts';
export { solarDayStartMs } from './solar-day.ts';
export { splitErbs } from './split-erbs.ts';
export { type SunPosition, sunPosition } from './sun-position.ts';
export { sunTimes, type SunTimes } from './sun-times.ts';
export { advanceBattery, type BatteryWalk, startBatteryWalk } from './advance-battery.ts';
export type { BatteryFacts, ChargeBand } from './batteries/battery-facts.ts';
export { batteryOf } from './batteries/battery-of.ts';
export { type BatteryPack, batteryPackOf, capacityWhAt } from './battery-pack.ts';
export { BATTERY_LAG_H, laggedBatteryC } from './battery-temperature.ts';
export { packResistanceOhm } from './cell-resistance.ts';
export {
  chargeFromVoltage,
  type VoltageCharge,
  type VoltageReading,
} from './charge-from-voltage.ts';
export { chargeBlock, chargeRateLimitPerH } from './charge-limit.ts';
export { type ChargerFacts, chargerOf } from './charger-facts.ts';
export {
  type BatteryOutcome,
  type BatteryState,
  type BatteryStep,
  stepBattery,
} from './step-battery.ts';
export { voltageFromCharge } from './voltage-from-charge.ts';
export { ageByTime, calendarLossRatio, NEW_CELL_RATIO } from './ageing/calendar-loss.ts';
export { agedCapacity, type BatteryLife, cycledCapacityRatio } from './ageing/aged-capacity.ts';
export {
  checkCustomBattery,
  type CustomBatteryFault,
  type CustomBatteryInput,
} from './batteries/check-custom-battery.ts';
export { batteryFactsOf, customBatteryOf } from './batteries/custom-battery.ts';
export {
  anchorFull,
  type ChargeCorrection,
  type ChargeFilter,
  correctByGauge,
  correctCharge,
  countCharge,
  countedCharge,
  UNKNOWN_CHARGE,
} from './charge-filter.ts';
export { directPanelShare } from './direct-panel-share.ts';
export { DEFAULT_SNOW_RULE, groundAlbedo, type SnowRule } from './ground-albedo.ts';
export { type Horizon, horizonHeight, skyViewRatio } from './horizon.ts';
export { type MonthlyValues, monthlyValueAt } from './monthly-value.ts';
export type { SkyModel } from './plane-of-array.ts';
export { selfDischargePerMonth } from './self-discharge.ts';
export {
  arrayToLoadByMonth,
  DESIGN_ADVICE,
  type DesignAdvice,
  panelForRatioW,
} from './sizing/array-to-load.ts';
export {
  autonomyDaysOf,
  type AutonomyNeeds,
  batteryForAutonomyWh,
} from './sizing/battery-for-autonomy.ts';
export { type Runtime, runtimeOf } from './sizing/runtime.ts';
export { type DailyBalance, type DailyWeather, walkDays } from './sizing/walk-days.ts';
