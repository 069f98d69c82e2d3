// A mark of the order of bytes in front of a text is kept, so that it is saved again.
const utf8 = new TextDecoder('utf-8', { ignoreBOM: true });

// One request to the notebook: the answer as an object, a refusal or a lost line told in the same words (what, next).
export async function ask(path, { method = 'POST', etag, shown, json, text, type = 'text/markdown' } = {}) {
  const headers = { Accept: 'application/json' };
  let body;
  if (json !== undefined) { headers['Content-Type'] = 'application/json'; body = JSON.stringify(json); }
  if (text !== undefined) { headers['Content-Type'] = `${type}; charset=utf-8`; body = text; }
  if (etag) headers['If-Match'] = `"${etag}"`;
  if (shown) headers.Shown = shown;
  let reply;
  try { reply = await fetch(path, { method, headers, body, cache: 'no-store' }); }
  catch {
    return { ok: false, status: 0, what: 'The notebook cannot be reached.',
      next: 'What you wrote is kept here; try again when it answers.' };
  }
  const tag = bare(reply.headers.get('ETag'));
  if (!(reply.headers.get('Content-Type') ?? '').includes('json'))
    return { ok: reply.ok, status: reply.status, etag: tag,
      text: await reply.arrayBuffer().then(bytes => utf8.decode(bytes), () => ''),
      ...(reply.ok ? {} : { what: `The notebook refused this (${reply.status}).`, next: 'Nothing was changed.' }) };
  const answer =
    await reply.json().catch(() => ({ what: 'The notebook’s answer could not be read.', next: 'Try again.' }));
  return { etag: tag, ...answer, ...(answer.etag ? { etag: bare(answer.etag) } : {}), ok: reply.ok,
    status: reply.status };
}

export const bare = tag => tag?.replace(/^W\//, '').replace(/^"|"$/g, '') ?? null;

// Writes go one after the other, so that each carries the mark the one before it was given.
let last = Promise.resolve();
export const inTurn = task => (last = last.then(task, task));
