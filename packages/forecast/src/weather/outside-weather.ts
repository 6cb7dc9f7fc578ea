import type { LikeDays } from './like-days.ts';
import type { OutsideAnswer } from './outside-error.ts';
import type { WeatherSource } from './weather-source.ts';

/** An outside forecast as the site answers it. */
export interface OutsideCourse {
  /** Foretold yield by member, for day 0, 1, …: as many days as the forecast reaches without a gap. */
  readonly members: readonly Float64Array[];
  readonly answer: OutsideAnswer;
  /** Days between the issue of the forecast and day 0. */
  readonly ageDays: number;
  /** Where the temperatures of a day are: an index into the pool, or undefined to take a day of like yield. */
  readonly temperatureRow: (day: number) => number | undefined;
}

/** Errors of one day carry over to the next by this share. Assumption, no source. */
const ERROR_MEMORY = 0.5;
const DARKEST = 0.01;
const BRIGHTEST = 1.15;

/**
 * The days an outside forecast reaches, as far as it has proved right here; after its last day the other sources carry on from
 * there.
 *
 * Each path takes one member and one course of errors. Errors of the mean are larger than those of a member drawn at random, so
 * what the members' own spread explains is not added twice.
 */
export function outsideWeather(
  course: OutsideCourse,
  after: WeatherSource,
  like: LikeDays,
): WeatherSource {
  const { members, answer, ageDays, temperatureRow } = course;
  const reach = members[0]!.length;
  const added = Float64Array.from({ length: reach }, (_, day) => {
    const mean = members.reduce((sum, member) => sum + member[day]!, 0) / members.length;
    const spread =
      members.reduce((sum, member) => sum + (member[day]! - mean) ** 2, 0) / members.length;
    const whole = answer.sigma(day + ageDays) ** 2;
    return Math.sqrt(Math.max(0.04 * whole, whole - answer.factor ** 2 * spread));
  });
  const innovation = Math.sqrt(1 - ERROR_MEMORY ** 2);

  return {
    name: `outside, then ${after.name}`,
    draw: (random, into, soFar) => {
      if (soFar !== undefined) return after.draw(random, into, soFar);
      const member = members[random.below(members.length)]!;
      let error = random.normal();
      const days = Math.min(reach, into.ratio.length);
      for (let day = 0; day < days; day++) {
        if (day > 0) error = ERROR_MEMORY * error + innovation * random.normal();
        const drawn = answer.factor * member[day]! + added[day]! * error;
        const ratio = Math.min(BRIGHTEST * answer.factor, Math.max(DARKEST, drawn));
        into.ratio[day] = ratio;
        into.poolDay[day] = temperatureRow(day) ?? like.draw(random, ratio);
      }
      if (days < into.ratio.length)
        after.draw(random, into, { fromDay: days, ratio: into.ratio[days - 1]! });
    },
  };
}
