const UNIT =
  /(\d) (%|°C|kWh|Wh|W|kHz|Hz|kB|MB|mV|V|mA|A|km|cm|mm|m|hPa|days?|d|h|min|s|points)(?![\p{L}\d])/gu;

/** A sentence of the server in which no number stands at the end of a line and its unit at the beginning of the next. */
export const holdUnits = (sentence: string): string => sentence.replace(UNIT, '$1\u00a0$2');
