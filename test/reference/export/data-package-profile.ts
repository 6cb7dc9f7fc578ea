const path = {
  type: 'string',
  pattern: '^((?=[^./~])(?!file:)((?!\\/\\.\\.\\/)(?!\\\\)(?!:\\/\\/).)*|(http|ftp)s?:\\/\\/.*)$',
};
const text = { type: 'string' };

const list = (items: object) => ({ type: 'array', minItems: 1, uniqueItems: true, items });
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
    rdfType: text,
    format: { enum: ['default'] },
    constraints: { type: 'object', properties: { required: { type: 'boolean' }, ...constraints } },
    ...more.properties,
  },
});
const categories = (value: object) => ({
  anyOf: [
    { type: 'array', items: value },
    {
      type: 'array',
      items: { type: 'object', required: ['value'], properties: { value, label: text } },
    },
  ],
});
const unique = { type: 'boolean' };
const textOr = (type: string) => ({ oneOf: [text, { type }] });
const bounds = (one: object) => ({
  minimum: one,
  maximum: one,
  exclusiveMinimum: one,
  exclusiveMaximum: one,
});
const numeric = (type: string) => ({
  unique,
  enum: { oneOf: [list(text), list({ type })] },
  ...bounds(textOr(type)),
});

/** The types our packages have; a field must be of exactly one. Other types of the profile are left out: we write none. */
const fields = [
  fieldOf(
    'string',
    {
      unique,
      pattern: text,
      enum: list(text),
      minLength: { type: 'integer' },
      maxLength: { type: 'integer' },
    },
    {
      typeMayBeMissing: true,
      properties: {
        format: { enum: ['default', 'email', 'uri', 'binary', 'uuid'] },
        categories: categories(text),
      },
    },
  ),
  fieldOf('number', numeric('number'), {
    properties: { bareNumber: { type: 'boolean' }, groupChar: text, decimalChar: text },
  }),
  fieldOf('integer', numeric('integer'), {
    properties: {
      bareNumber: { type: 'boolean' },
      groupChar: text,
      categories: categories({ type: 'integer' }),
      categoriesOrdered: { type: 'boolean' },
    },
  }),
  fieldOf('boolean', { enum: list({ type: 'boolean' }) }),
  // Its format is free: default, any, or a pattern of strftime.
  fieldOf(
    'datetime',
    { unique, enum: list(text), ...bounds(text) },
    { properties: { format: text } },
  ),
];

const keyTo = (names: object) => ({
  properties: {
    fields: names,
    reference: {
      type: 'object',
      required: ['fields'],
      properties: { resource: text, fields: names },
    },
  },
});

/**
 * The profile of a Data Package with its tables, condensed: every keyword that decides, written off by hand from the published
 * text; titles, descriptions, examples, defaults and types of fields we never write are left out. The published files are not
 * copied: no registry carries version 2.0 of them.
 *
 * @source package and resource: JSON Schema of Data Package v2.0, github frictionlessdata/datapackage
 *   profiles/target/2.0/datapackage.json @015ab8c9867b8d21248a7ace0fefb3a8c192db10 (required, oneOf, types, patterns);
 *   tables: profiles/target/2.0/tableschema.json @2631462780a5a4281c0039f0ff0327e67c3c32f5 of the same (MIT)
 */
export const dataPackageProfile = {
  $schema: 'http://json-schema.org/draft-07/schema#',
  type: 'object',
  required: ['resources'],
  properties: {
    $schema: { const: 'https://datapackage.org/profiles/2.0/datapackage.json' },
    name: text,
    title: text,
    description: text,
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
          email: { type: 'string', format: 'email' },
          roles: { type: 'array', minItems: 1, items: text },
        },
      },
    },
    licenses: {
      type: 'array',
      minItems: 1,
      items: {
        type: 'object',
        anyOf: [{ required: ['name'] }, { required: ['path'] }],
        properties: { name: { type: 'string', pattern: '^([-a-zA-Z0-9._])+$' }, path, title: text },
      },
    },
    resources: {
      type: 'array',
      minItems: 1,
      items: {
        type: 'object',
        oneOf: [{ required: ['name', 'data'] }, { required: ['name', 'path'] }],
        properties: {
          name: text,
          path: { oneOf: [path, { type: 'array', minItems: 1, items: path }] },
          type: { enum: ['table'] },
          title: text,
          description: text,
          format: text,
          mediatype: { type: 'string', pattern: '^(.+)/(.+)$' },
          encoding: text,
          bytes: { type: 'integer' },
          hash: { type: 'string', pattern: '^([^:]+:[a-fA-F0-9]+|[a-fA-F0-9]{32}|)$' },
          dialect: {
            type: 'object',
            properties: {
              delimiter: text,
              lineTerminator: text,
              quoteChar: { type: 'string', minLength: 1, maxLength: 1 },
              doubleQuote: { type: 'boolean' },
              header: { type: 'boolean' },
            },
          },
          schema: {
            type: 'object',
            required: ['fields'],
            properties: {
              fields: { type: 'array', minItems: 1, items: { type: 'object', oneOf: fields } },
              missingValues: {
                anyOf: [
                  { type: 'array', items: text },
                  {
                    type: 'array',
                    items: {
                      type: 'object',
                      required: ['value'],
                      properties: { value: text, label: text },
                    },
                  },
                ],
              },
              primaryKey: { oneOf: [list(text), text] },
              uniqueKeys: list(list(text)),
              foreignKeys: {
                type: 'array',
                minItems: 1,
                items: {
                  type: 'object',
                  required: ['fields', 'reference'],
                  oneOf: [keyTo(list(text)), keyTo(text)],
                },
              },
            },
          },
        },
      },
    },
  },
} as const;
