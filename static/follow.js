// Follows what changes elsewhere while the page is looked at; closed when it is not, caught up when it is again.
import { bare } from './ask.js';

export function follow(changed, back) {
  let source = null, away = false;
  const open = () => {
    source = new EventSource('/events');
    source.addEventListener('changed', e => { try { const d = JSON.parse(e.data); changed({ ...d, etag: bare(d.etag) }); } catch { /* not for us */ } });
    source.onopen = () => { if (away) back(); away = false; };
    source.onerror = () => { away = true; };
  };
  const look = () => {
    if (document.hidden) { source?.close(); source = null; away = true; }
    else if (!source) open();
  };
  document.addEventListener('visibilitychange', look);
  addEventListener('pagehide', () => { source?.close(); source = null; away = true; });
  addEventListener('pageshow', look);
  look();
}
