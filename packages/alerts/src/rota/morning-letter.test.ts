import { alertId, type Alert } from '@duskline/domain';
import { describe, expect, it } from 'vitest';
import { node, site, startMs } from '../testing.ts';
import { handOverNote } from './morning-letter.ts';

const alert: Alert = {
  id: alertId('4-1'),
  nodeId: node.id,
  siteId: site.id,
  rule: 'overdue',
  priority: 'P2',
  state: 'new',
  openedAtMs: startMs,
  text: {
    sentence: 'Thornhow should have been back by now.',
    figures: '',
    byWhen: 'within two days',
    todo: 'Visit.',
    bring: '',
    cautions: [],
  },
};
const noteOf = (open: Alert): string =>
  handOverNote({
    timeZone: 'Europe/London',
    open: [{ alert: open, siteName: site.name }],
    ended: [],
    events: [],
  });

describe('the note for whoever comes on call next', () => {
  it('says that nobody has an alert', () => {
    expect(noteOf(alert)).toBe(
      'Still open:\n– Thornhow should have been back by now. Since Wed 25 Nov 09:00 UTC; nobody has it.',
    );
  });

  it('says from whom to whom an alert was handed, and what they were told', () => {
    const handedSays = 'Handed to Wren Halloway by Ines Tarn: The gate code is new.';
    expect(noteOf({ ...alert, handedTo: 'Wren Halloway', handedSays })).toMatch(
      /; Wren Halloway was asked and has not taken it\. Handed to Wren Halloway by Ines Tarn: The gate code is new\.$/,
    );
  });
});
