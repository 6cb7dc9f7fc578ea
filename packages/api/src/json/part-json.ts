import type { PartJson } from '@duskline/contract';
import type { Part } from '@duskline/domain';
import { instant, instantOrNull } from './instant.ts';

export const partJson = (part: Part): PartJson => ({
  id: part.id,
  kind: part.kind,
  serial: part.serial,
  maker: part.maker,
  fittedAt: instant(part.fittedAtMs),
  removedAt: instantOrNull(part.removedAtMs),
  rated: { ...part.rated },
  calibration: part.calibration === undefined ? null : calibrationJson(part.calibration),
  notes: part.notes,
  replacedBy: part.replacedBy ?? null,
});

const calibrationJson = ({
  coefficients,
  atMs,
  uncertainty,
  unit,
}: NonNullable<Part['calibration']>) => ({
  coefficients: [...coefficients],
  at: instant(atMs),
  ...(uncertainty === undefined ? {} : { uncertainty }),
  unit,
});
