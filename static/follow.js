// Follows what changes elsewhere while a page is looked at. All pages of one browser share one stream, because a
// browser opens only six connections to a notebook: the page that holds the lock listens and tells the others.
import { bare } from './ask.js';

export function follow(changed, back) {
  const others = 'BroadcastChannel' in globalThis ? new BroadcastChannel('makeready events') : null;
  let giveUp = null, away = false;
  const take = data => {
    if (document.hidden) { away = true; return; }
    if (data.back) back();
    else changed({ ...data, etag: bare(data.etag) });
  };
  const tell = data => { take(data); others?.postMessage(data); };
  if (others) others.onmessage = e => take(e.data);

  // Listens until asked to stop; the lock is held as long.
  const listen = (stop, missed) => new Promise(done => {
    const source = new EventSource('/events');
    let lost = away || missed;
    source.addEventListener('changed', e => { try { tell(JSON.parse(e.data)); } catch { /* not for us */ } });
    source.onopen = () => { if (lost) tell({ back: true }); lost = away = false; };
    source.onerror = () => { lost = true; };
    stop.addEventListener('abort', () => { source.close(); done(); });
  });
  const begin = () => {
    if (giveUp) return;
    giveUp = new AbortController();
    const { signal } = giveUp;
    // Without locks (a notebook read over a network that is not secure) each page that is looked at listens by itself.
    const asked = performance.now();
    if (navigator.locks && others)
      navigator.locks.request('makeready events', { signal },
      () => listen(signal, performance.now() - asked > 300)).catch(() => {});
    else listen(signal, false);
  };
  const end = () => { giveUp?.abort(); giveUp = null; away = true; };
  const look = () => {
    if (document.hidden) { end(); return; }
    if (away && navigator.locks && others) { away = false; back(); }
    begin();
  };
  document.addEventListener('visibilitychange', look);
  addEventListener('pagehide', end);
  addEventListener('pageshow', look);
  look();
}
