/** What a push shows, and where it leads. */
export interface ShownPush {
  readonly title: string;
  readonly body: string;
  /** The key of the message: the same again replaces it. */
  readonly tag: string;
  /** Within this site. */
  readonly path: string;
}

const WATCH = '/watch';

/** Reads what the server sent; of anything else it says that there is news, for a push must be shown. */
export function readPush(text: string | undefined): ShownPush {
  const { key, title, body, link } = fieldsOf(text);
  return {
    title: title ?? 'Duskline',
    body: body ?? 'Something waits for you.',
    tag: key ?? 'news',
    path: link === undefined ? WATCH : pathOf(link),
  };
}

/** An address of this site: whatever a message says, it leads nowhere else. */
export function leadsTo(path: unknown, origin: string): string {
  const url = new URL(typeof path === 'string' ? path : WATCH, origin);
  return url.origin === origin ? url.href : new URL(WATCH, origin).href;
}

function fieldsOf(text: string | undefined): Readonly<Record<string, string | undefined>> {
  try {
    const said: unknown = JSON.parse(text ?? '');
    if (typeof said !== 'object' || said === null) return {};
    return Object.fromEntries(
      Object.entries(said).filter(
        (entry): entry is [string, string] => typeof entry[1] === 'string',
      ),
    );
  } catch {
    return {};
  }
}

/** Links name the server's public address; this page may be reached by another name of it. */
function pathOf(link: string): string {
  if (!URL.canParse(link)) return WATCH;
  const { pathname, search } = new URL(link);
  return `${pathname}${search}`;
}
