import type { RuntimeRequestJson, SizingRequestJson } from '@duskline/contract';
import { sayAtLeast, sayPercentAgainst } from '@duskline/domain';
import type { Runtime } from '@duskline/energy';
import type { SizedSite } from '@duskline/forecast';

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
] as const;

const LITHIUM_CARE =
  'Lithium cells must never be charged below 0 °C. Use a pack with its own tested protection and a fuse at the battery; follow the maker’s instructions and local codes.';
const LEAD_CARE =
  'Lead–acid batteries give off explosive gas and hold acid: ventilate, protect the eyes, and follow the maker’s instructions and local codes.';
const LEAD_DEPTH =
  'Drawing lead–acid below half its charge as a routine shortens its life markedly: set the shut-down level to 50 % or more, and size the battery for it.';
const REACH_W = 0.98;

/** The answer to a question of size, in words. */
export function saySizing(sized: SizedSite, asked: SizingRequestJson): string {
  const worst = sized.months[sized.worstMonth]!;
  const design = `This design carries ${asked.loadW} W for ${days(sized.autonomyDays)} without sun; its worst month is ${MONTHS[sized.worstMonth]} with an array-to-load ratio of ${worst.arrayToLoad.toFixed(2)}: expect it dark about ${days(worst.darkDays)} of that month`;
  const year = `${days(sized.darkDaysPerYear)} of the year (up ${sayPercentAgainst(sized.upRatio, asked.reliabilityRatio)} of the time, ${percent(asked.reliabilityRatio)} wished).`;
  const change = sized.meetsWish ? '' : ` ${sayChange(sized)}`;
  return `${design}, and ${year}${change}`;
}

function sayChange({ smallestPanelW, smallestBatteryWh }: SizedSite): string {
  const ways = [
    ...(smallestPanelW === undefined ? [] : [`a panel of ${sayAtLeast(smallestPanelW, 'W')}`]),
    ...(smallestBatteryWh === undefined
      ? []
      : [`a battery of ${sayAtLeast(smallestBatteryWh, 'Wh')}`]),
  ];
  if (ways.length === 0)
    return 'Neither a larger panel nor a larger battery alone would do: see the pairs, lower the load, or accept the dark days.';
  return `Either ${ways.join(' or ')} alone would do.`;
}

/** What to know before buying or climbing. */
export function sizingNotes(sized: SizedSite, asked: SizingRequestJson): readonly string[] {
  const { chemistry } = asked.battery;
  const isLead = chemistry.startsWith('lead-acid');
  const blocked = sized.months.filter((month) => month.blockedDays >= 1);
  const coldest = blocked.reduce((most, month) => Math.max(most, month.blockedDays), 0);
  const outOfReach = sized.months.filter(
    (month) => month.harvestWhPerDay * REACH_W <= asked.offStateDrawW * 24,
  );
  return [
    ...(isLead && asked.shutDownRatio < 0.5 ? [LEAD_DEPTH] : []),
    ...(blocked.length > 0
      ? [
          `In ${listOf(blocked.map(({ month }) => MONTHS[month]!))} it is too cold or too hot to charge on up to ${days(coldest)} of the month: a larger panel does not help there, an insulated or warmed battery does.`,
        ]
      : []),
    ...(outOfReach.length > 0
      ? [
          `In ${listOf(outOfReach.map(({ month }) => MONTHS[month]!))} the harvest does not exceed the off-state draw: a node that went dark does not come back by itself.`,
        ]
      : []),
    ...(chemistry.startsWith('li') ? [LITHIUM_CARE] : []),
    ...(isLead ? [LEAD_CARE] : []),
    'Shade, snow on the panel and ageing are not in these figures; leave a margin of 10–25 %.',
  ];
}

/** How long a battery lasts, in words. */
export function sayRuntime(found: Runtime, asked: RuntimeRequestJson): string {
  const from = asked.fromRatio ?? 1;
  return `${asked.loadW} W run for ${span(found.hours)} (${span(found.lowHours)} to ${span(found.highHours)}) from ${percent(from)} down to ${percent(asked.shutDownRatio)} at ${asked.batteryC ?? 25} °C, without any sun.`;
}

/** What to know about that figure. */
export function runtimeNotes(found: Runtime, asked: RuntimeRequestJson): readonly string[] {
  const { chemistry } = asked.battery;
  const isLead = chemistry.startsWith('lead-acid');
  return [
    ...(asked.healthRatio === undefined
      ? ['The lower end is a worn battery at 80 % of its nameplate; measure it to know better.']
      : []),
    ...(found.isFasterThanRated
      ? ['This empties lead–acid faster than in the twenty hours it is rated for: expect less.']
      : []),
    ...(found.isOutsideLimits ? ['The cells may not be used at this temperature.'] : []),
    ...(isLead && asked.shutDownRatio < 0.5 ? [LEAD_DEPTH] : []),
    ...(chemistry.startsWith('li') ? [LITHIUM_CARE] : []),
    ...(isLead ? [LEAD_CARE] : []),
  ];
}

const percent = (ratio: number): string =>
  `${(100 * ratio).toFixed(ratio > 0.99 && ratio < 1 ? 1 : 0)} %`;
const days = (value: number): string =>
  `${value.toFixed(value < 10 ? 1 : 0)} ${value.toFixed(1) === '1.0' ? 'day' : 'days'}`;
const span = (hours: number): string => (hours < 48 ? `${hours.toFixed(1)} h` : days(hours / 24));
const listOf = (words: readonly string[]): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
