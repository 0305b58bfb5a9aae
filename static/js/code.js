// Signing in by code: the code stands behind the # of the address, which no server and no log gets to see. It goes into the form, and
// out of the address bar and the history.

const form = document.querySelector('form[data-code]');
const code = location.hash.slice(1);
if (form instanceof HTMLFormElement && code) {
  const input = form.elements.namedItem('code');
  if (input instanceof HTMLInputElement) input.value = code;
  history.replaceState(null, '', location.pathname);
  form.hidden = false;
  document.querySelector('[data-nocode]')?.setAttribute('hidden', '');
}
