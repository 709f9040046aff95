/**
 * The page that asks for the passphrase. It stands alone and works without scripts, so nothing of the diary is read to
 * show it.
 */
export function signInPage({
  css,
  nonce,
  to,
  sentence,
  byName,
  name = '',
}: {
  css: string;
  nonce: string;
  to: string;
  sentence: string | null;
  /** Whether people are set up, who each come in by name. */ byName: boolean;
  name?: string;
}): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Sign in · Swathbook</title>
<style nonce="${nonce}">${css.replaceAll('</', '<\\/')}</style>
</head>
<body>
<header class="frame-head"><div class="frame-head-row"><span class="frame-name">Swathbook</span></div></header>
<main id="content">
<section class="sheet">
<h1>Sign in</h1>
<p>${byName ? 'This diary is kept by several people: come in by your name and your own passphrase. Whoever keeps it gives you both.' : 'This diary is open to other machines, so it asks for its passphrase.'}</p>
${sentence === null ? '' : `<p class="notice notice-bad" role="alert">${escaped(sentence)}</p>`}
<form class="stack" method="post" action="/sign-in">
<input type="hidden" name="to" value="${escaped(to)}">
${
  byName
    ? `<div class="field"><label for="name">Name</label>
<input id="name" name="username" type="text" autocomplete="username" maxlength="80" value="${escaped(name)}" required${name === '' ? ' autofocus' : ''}></div>`
    : '<input type="text" name="username" autocomplete="username" value="diary" hidden>'
}
<div class="field"><label for="passphrase">Passphrase</label>
<input id="passphrase" name="passphrase" type="password" autocomplete="current-password" required${byName && name === '' ? '' : ' autofocus'}></div>
<div class="row"><button type="submit">Sign in</button></div>
</form>
</section>
</main>
</body>
</html>
`;
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');
}
