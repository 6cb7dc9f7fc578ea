import type { Permission } from '@duskline/domain';
import { text } from '../text/en.ts';
import { exportText } from '../text/export.ts';
import { helpText } from '../text/help.ts';
import { peopleText } from '../text/people.ts';
import { scoreText } from '../text/score.ts';
import { sizingText } from '../text/sizing.ts';
import { visitText } from '../text/visit.ts';
import { watchText } from '../text/watch.ts';

/** A page by its address and the word that leads to it. */
export interface NamedPage {
  readonly href: string;
  readonly name: string;
}

/** A word in the head of every page, and the pages under it, itself among them. */
export interface MainPage extends NamedPage {
  readonly under: readonly NamedPage[];
}

/** What somebody with these rights is led to, in order. Pages with several under them show those in a second line. */
export function pageList(permissions: readonly Permission[]): readonly MainPage[] {
  const may = (permission: Permission): boolean => permissions.includes(permission);
  const alone = (href: string, name: string): MainPage => ({ href, name, under: [] });
  const group = (name: string, under: readonly NamedPage[]): readonly MainPage[] =>
    under[0] === undefined ? [] : [{ href: under[0].href, name, under }];
  const builds = may('change-nodes');
  return [
    alone('/', text.nav.fleet),
    alone('/watch', watchText.title),
    alone('/rounds', visitText.title),
    alone('/rota', peopleText.rota.title),
    alone('/sizing', sizingText.title),
    alone('/score', scoreText.title),
    ...group(exportText.nav, [
      ...(may('export')
        ? [
            { href: '/data', name: text.nav.ask },
            { href: '/data/report', name: exportText.report },
          ]
        : []),
      ...(builds ? [{ href: '/data/import', name: exportText.card }] : []),
    ]),
    ...group(text.nav.setup, [
      ...(builds ? [{ href: '/setup', name: text.nav.putUp }] : []),
      ...(may('arrange-people')
        ? [
            { href: '/setup/people', name: peopleText.people.title },
            { href: '/setup/rules', name: peopleText.rules.title },
          ]
        : []),
      ...(builds ? [{ href: '/quarantine', name: text.nav.quarantine }] : []),
    ]),
    alone('/help', helpText.nav),
  ];
}

/** Does the page with this address belong to one of the list? A page below one belongs to it. */
const covers = ({ href }: NamedPage, path: string): boolean =>
  path === href || path.startsWith(`${href}/`);

/** Where a reader is: the word in the head, and the page under it; the nearest of those that fit. */
export function whereIs(
  pages: readonly MainPage[],
  path: string,
): { readonly main: MainPage | undefined; readonly under: NamedPage | undefined } {
  const fits = pages
    .flatMap((main) => [main, ...main.under].map((one) => ({ main, one })))
    .filter(({ one }) => covers(one, path))
    .sort((a, b) => b.one.href.length - a.one.href.length)[0];
  return {
    main: fits?.main,
    under: fits?.main.under.find(({ href }) => href === fits.one.href),
  };
}
