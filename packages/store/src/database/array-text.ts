/**
 * Arrays as Postgres writes and reads them as text (PostgreSQL documentation, 8.15.6 "Array Input and
 * Output Syntax"): `{1,NULL,"a \"b\""}`. Lower bounds other than 1 do not occur in our tables.
 */
export type NestedArray<T> = readonly (T | null | NestedArray<T>)[];

/**
 * @param text the array's text.
 * @param parseElement makes a value from the text of one element; never called for NULL.
 */
export function parseArray<T>(text: string, parseElement: (text: string) => T): NestedArray<T> {
  let at = 0;

  const parseLevel = (): NestedArray<T> => {
    const items: (T | null | NestedArray<T>)[] = [];
    at += 1;
    while (text[at] !== '}') {
      if (at >= text.length) throw new RangeError(`Not an array: ${text}`);
      if (text[at] === ',') at += 1;
      items.push(text[at] === '{' ? parseLevel() : parseItem());
    }
    at += 1;
    return items;
  };

  const parseItem = (): T | null => {
    if (text[at] === '"') return parseElement(parseQuoted());
    const start = at;
    while (at < text.length && text[at] !== ',' && text[at] !== '}') at += 1;
    const item = text.slice(start, at);
    return item === 'NULL' ? null : parseElement(item);
  };

  const parseQuoted = (): string => {
    let item = '';
    for (at += 1; text[at] !== '"'; at += 1) {
      if (at >= text.length) throw new RangeError(`Not an array: ${text}`);
      if (text[at] === '\\') at += 1;
      item += text[at] ?? '';
    }
    at += 1;
    return item;
  };

  if (text[0] !== '{') throw new RangeError(`Not an array: ${text}`);
  return parseLevel();
}

/**
 * @param values elements, null for NULL, or arrays of such of equal lengths.
 * @param formatElement makes the text of one element.
 */
export function formatArray<T>(
  values: NestedArray<T>,
  formatElement: (value: T) => string,
): string {
  const items = values.map((value) => {
    if (value === null) return 'NULL';
    if (isNested(value)) return formatArray(value, formatElement);
    return `"${formatElement(value).replace(/[\\"]/g, '\\$&')}"`;
  });
  return `{${items.join(',')}}`;
}

function isNested<T>(value: T | NestedArray<T>): value is NestedArray<T> {
  return Array.isArray(value);
}
