import type { FieldSheetJson } from '@duskline/contract';
import { blurred } from '../access/seen-place.ts';

/** A field sheet as somebody may see it who does not go there. */
export function sheetWithoutPlace({ landOwner: _, ...sheet }: FieldSheetJson): FieldSheetJson {
  return { ...sheet, ...blurred(sheet), access: '' };
}
