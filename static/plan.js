// A plan's or rate sheet's page: wires its parts together.
import { article, reread, say, sheet } from './sheet.js';
import { hold, onBringBack, openSection, openWhole, changed as unsaved } from './writing.js';
import { follow } from './follow.js';
import { drawSteps } from './steps.js';
import * as copy from './copy.js';
import * as given from './given.js';
import * as happened from './happened.js';
import * as kept from './kept.js';
import * as ledger from './ledger.js';

drawSteps(article);
given.listen(); happened.listen(); ledger.listen();
if (document.getElementById('copy')) copy.listen();

article.addEventListener('click', e => { const b = e.target.closest('button.write'); if (b) openSection(b); });
document.getElementById('write-all').addEventListener('click', () => openWhole());
addEventListener('keydown', e => { // the browser's own "save page" is not what is meant here
  if (e.key.toLowerCase() === 's' && (e.ctrlKey || e.metaKey) && !e.altKey) e.preventDefault();
});

// Unsaved writing from before: opened over the whole text; saving it says so when another text came between.
async function bringBack(entry) {
  await openWhole(entry.text);
  if (!sheet.passage) return;
  // saved against the text it was written from, so nothing is overwritten unseen
  if (entry.etag) sheet.etag = entry.etag;
  kept.forget(entry.id); hold(); kept.offer(bringBack);
}
onBringBack(bringBack);
kept.offer(bringBack);
document.getElementById('away').addEventListener('click', () => {
  say('');
  document.getElementById('brought').hidden = true;
});
addEventListener('pagehide', () => hold());
document.addEventListener('visibilitychange', () => { if (document.hidden) hold(); });

let waiting = 0;
const catchUp = () => {
  clearTimeout(waiting);
  waiting = setTimeout(async () => { if (!sheet.passage) await reread(); }, 60);
};
follow(({ slug, etag }) => {
  if (slug === sheet.slug && etag === sheet.etag) return;
  if (!sheet.passage) { catchUp(); return; }
  if (slug === sheet.slug)
    say(unsaved(sheet.passage) ? 'This was changed elsewhere. Your writing is kept; saving will show both texts.'
    : 'This was changed elsewhere; the page shows it when you are done here.');
}, catchUp);
