import type { SilenceSeen } from '../seen-of-silence.ts';
import type { Cause } from '../weigh-causes.ts';

/** A carrier, gateway or relay that several nodes share is down. */
export const linkShared: Cause<SilenceSeen> = {
  cause: 'link-shared',
  name: 'a shared link is down',
  commonness: 0.5,
  weigh({ link, lastWord }) {
    if (link === undefined || link.sameExpected === 0)
      return [{ weight: -4, says: 'No other node is known to share its link' }];
    const name = link.name ?? 'the same link';
    const evidence = [];
    if (lastWord?.kind === 'farewell')
      evidence.push({
        weight: -5,
        says: 'Its last message said it was shutting down, in good order',
      });
    if (link.fellSilentTogether >= 2)
      evidence.push({
        weight: 5,
        says: `${link.fellSilentTogether} other nodes on ${name} fell silent within half an hour`,
      });
    else if (link.sameHeard > 0)
      evidence.push({
        weight: -4,
        says: `${link.sameHeard} of ${link.sameExpected} other nodes on ${name} are heard`,
      });
    else
      evidence.push({
        weight: link.sameExpected >= 2 ? 1.5 : 0.3,
        says: `No other node on ${name} is heard`,
      });
    if (link.otherExpected >= 2)
      evidence.push(
        link.otherHeard / link.otherExpected > 0.5
          ? { weight: 1, says: 'Nodes on other links are heard' }
          : { weight: -2, says: 'Nodes on other links are silent too' },
      );
    return evidence;
  },
  settledBy: 'the first message of any node on that link',
};
