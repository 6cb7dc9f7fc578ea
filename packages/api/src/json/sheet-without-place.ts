import type { FieldSheetJson } from '@duskline/contract';
import { blurred } from '../access/seen-place.ts';

/** A field sheet as somebody may see it who does not go there. */
export const sheetWithoutPlace = (sheet: FieldSheetJson): FieldSheetJson => ({
  ...sheet,
  ...blurred(sheet),
  access: '',
});
