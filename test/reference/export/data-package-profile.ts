const path = {
  type: 'string',
  pattern: '^((?=[^./~])(?!file:)((?!\\/\\.\\.\\/)(?!\\\\)(?!:\\/\\/).)*|(http|ftp)s?:\\/\\/.*)$',
};
const text = { type: 'string' };
const yesNo = { type: 'boolean' };
const whole = { type: 'integer' };
const fromOne = { type: 'integer', minimum: 1 };

const list = (items: object) => ({ type: 'array', minItems: 1, uniqueItems: true, items });
const valuesOf = (value: object) => ({
  anyOf: [
    { type: 'array', items: value },
    {
      type: 'array',
      items: { type: 'object', required: ['value'], properties: { value, label: text } },
    },
  ],
});
const missingValues = valuesOf(text);

/** Of one type: what a field of it may say, and which values its constraints and categories take. */
const fieldOf = (
  type: string,
  constraints: object,
  more: { readonly properties?: object; readonly typeMayBeMissing?: true } = {},
) => ({
  type: 'object',
  required: more.typeMayBeMissing === true ? ['name'] : ['name', 'type'],
  properties: {
    name: text,
    type: { enum: [type] },
    title: text,
    description: text,
    example: text,
    missingValues,
    rdfType: text,
    format: { enum: ['default'] },
    constraints: { type: 'object', properties: { required: yesNo, ...constraints } },
    ...more.properties,
  },
});
const eitherList = (...types: readonly string[]) => ({
  oneOf: [list(text), ...types.map((type) => list({ type }))],
});
const bounds = (one: object) => ({
  minimum: one,
  maximum: one,
  exclusiveMinimum: one,
  exclusiveMaximum: one,
});
const numeric = (type: string) => ({
  unique: yesNo,
  enum: eitherList(type),
  ...bounds({ oneOf: [text, { type }] }),
});
const written = { unique: yesNo, enum: list(text), ...bounds(text) };
const lengths = { minLength: whole, maxLength: whole };
const anyFormat = { properties: { format: {} } };

/** A field must be of exactly one. The published list forgets the type `list` (issue 1089 there). */
const fields = [
  fieldOf(
    'string',
    { unique: yesNo, pattern: text, enum: list(text), ...lengths },
    {
      typeMayBeMissing: true,
      properties: {
        format: { enum: ['default', 'email', 'uri', 'binary', 'uuid'] },
        categories: valuesOf(text),
        categoriesOrdered: yesNo,
      },
    },
  ),
  fieldOf('number', numeric('number'), {
    properties: { bareNumber: yesNo, groupChar: text, decimalChar: text },
  }),
  fieldOf('integer', numeric('integer'), {
    properties: {
      bareNumber: yesNo,
      groupChar: text,
      categories: valuesOf(whole),
      categoriesOrdered: yesNo,
    },
  }),
  fieldOf('date', written, anyFormat),
  fieldOf('time', written, anyFormat),
  fieldOf('datetime', written, anyFormat),
  fieldOf('year', numeric('integer')),
  fieldOf('yearmonth', written),
  fieldOf(
    'boolean',
    { enum: list(yesNo) },
    {
      properties: {
        trueValues: { type: 'array', minItems: 1, items: text },
        falseValues: { type: 'array', minItems: 1, items: text },
      },
    },
  ),
  fieldOf('object', {
    unique: yesNo,
    enum: eitherList('object'),
    ...lengths,
    jsonSchema: { type: 'object' },
  }),
  fieldOf(
    'geopoint',
    { unique: yesNo, enum: eitherList('array', 'object') },
    { properties: { format: { enum: ['default', 'array', 'object'] } } },
  ),
  fieldOf(
    'geojson',
    { unique: yesNo, enum: eitherList('object'), ...lengths },
    { properties: { format: { enum: ['default', 'topojson'] } } },
  ),
  fieldOf('array', {
    unique: yesNo,
    enum: eitherList('array'),
    ...lengths,
    jsonSchema: { type: 'object' },
  }),
  fieldOf('duration', written),
  fieldOf('any', { unique: yesNo, enum: list({}) }, anyFormat),
];

const keyTo = (here: object, there: object) => ({
  properties: {
    fields: here,
    reference: {
      type: 'object',
      required: ['fields'],
      properties: { resource: text, fields: there },
    },
  },
});

const tableSchema = {
  // A text is the path of a schema elsewhere; `required` and `properties` ask nothing of it.
  type: ['string', 'object'],
  required: ['fields'],
  properties: {
    $schema: text,
    fields: { type: 'array', minItems: 1, items: { type: 'object', oneOf: fields } },
    // So published, though the standard says a text (issue 965 there). Its list of words stands under `item`, which decides nothing.
    fieldsMatch: { type: 'array' },
    primaryKey: { oneOf: [list(text), text] },
    uniqueKeys: list(list(text)),
    foreignKeys: {
      type: 'array',
      minItems: 1,
      items: {
        type: 'object',
        required: ['fields', 'reference'],
        // Of the fields here, `minItems` and `uniqueItems` are published one level too deep, at a text, where they decide nothing.
        oneOf: [keyTo({ type: 'array', items: text }, list(text)), keyTo(text, text)],
      },
    },
    missingValues,
  },
};

const dialect = {
  type: 'object',
  properties: {
    $schema: text,
    header: yesNo,
    headerRows: { type: 'array', items: fromOne },
    headerJoin: text,
    commentRows: { type: 'array', items: fromOne },
    commentChar: text,
    delimiter: text,
    lineTerminator: text,
    quoteChar: text,
    doubleQuote: yesNo,
    escapeChar: text,
    nullSequence: text,
    skipInitialSpace: yesNo,
    property: text,
    itemType: { type: 'string', enum: ['array', 'object'] },
    itemKeys: { type: 'array', items: text },
    sheetNumber: fromOne,
    sheetName: text,
    table: text,
  },
};

const homepage = { type: 'string', format: 'uri' };
const email = { type: 'string', format: 'email' };
const sources = {
  type: 'array',
  minItems: 0,
  items: {
    type: 'object',
    minProperties: 1,
    properties: { title: text, path, email, version: text },
  },
};
const licenses = {
  type: 'array',
  minItems: 1,
  items: {
    type: 'object',
    anyOf: [{ required: ['name'] }, { required: ['path'] }],
    properties: { name: { type: 'string', pattern: '^([-a-zA-Z0-9._])+$' }, path, title: text },
  },
};

const resource = {
  type: 'object',
  oneOf: [{ required: ['name', 'data'] }, { required: ['name', 'path'] }],
  properties: {
    $schema: text,
    name: text,
    path: { oneOf: [path, { type: 'array', minItems: 1, items: path }] },
    data: {},
    type: { type: 'string', enum: ['table'] },
    title: text,
    description: text,
    homepage,
    sources,
    licenses,
    format: text,
    mediatype: { type: 'string', pattern: '^(.+)/(.+)$' },
    encoding: text,
    bytes: whole,
    hash: { type: 'string', pattern: '^([^:]+:[a-fA-F0-9]+|[a-fA-F0-9]{32}|)$' },
    dialect,
    schema: tableSchema,
  },
};

/**
 * The profile of a Data Package v2.0 with its tables: every keyword that decides, written off by hand from the published text and
 * compared with the whole of it. Left out is what decides nothing: titles, descriptions, examples, defaults, the order of forms,
 * and the format `textarea`, which is a hint for forms and no format of JSON Schema. The published file is not copied: no registry
 * carries version 2.0 of it.
 *
 * @source JSON Schema of Data Package v2.0, github frictionlessdata/datapackage profiles/target/2.0/datapackage.json
 *   @015ab8c9867b8d21248a7ace0fefb3a8c192db10, which has the other three within it (MIT). Commit 2631462 of the same path is a
 *   draft of v2.1: its tables have a name, a title and more.
 */
export const dataPackageProfile = {
  $schema: 'http://json-schema.org/draft-07/schema#',
  type: 'object',
  required: ['resources'],
  properties: {
    $schema: text,
    name: text,
    id: text,
    title: text,
    description: text,
    homepage,
    version: text,
    created: { type: 'string', format: 'date-time' },
    contributors: {
      type: 'array',
      minItems: 1,
      items: {
        minProperties: 1,
        properties: {
          title: text,
          path,
          email,
          givenName: text,
          familyName: text,
          organization: text,
          roles: { type: 'array', minItems: 1, items: text },
        },
      },
    },
    keywords: { type: 'array', minItems: 1, items: text },
    image: text,
    licenses,
    resources: { type: 'array', minItems: 1, items: resource },
    sources,
  },
} as const;
