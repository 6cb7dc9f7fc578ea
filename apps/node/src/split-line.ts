/**
 * Cuts a line into its fields. A field in double quotes may hold the separator, and `""` for a quote (RFC 4180, §2.5–2.7).
 *
 * @param separator one or more characters, or `whitespace` for any run of blanks and tabs
 */
export function splitLine(line: string, separator: string): readonly string[] {
  if (separator === 'whitespace') return line.trim().split(/\s+/).map(unquote);
  if (!line.includes('"')) return line.split(separator).map((field) => field.trim());
  const fields: string[] = [];
  let field = '';
  let quoted = false;
  for (let i = 0; i < line.length;) {
    if (line[i] === '"') quoted = !quoted;
    if (!quoted && line.startsWith(separator, i)) {
      fields.push(field);
      field = '';
      i += separator.length;
    } else {
      field += line[i];
      i += 1;
    }
  }
  fields.push(field);
  return fields.map((text) => unquote(text.trim()));
}

const unquote = (field: string): string =>
  field.length >= 2 && field.startsWith('"') && field.endsWith('"')
    ? field.slice(1, -1).replaceAll('""', '"').trim()
    : field;
