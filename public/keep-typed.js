// A form sent before the page's own script is awake comes back as a new page: what was typed waits for it in this tab.
addEventListener('submit', function (event) {
  var form = event.target;
  var awake = Object.keys(form).some(function (key) { return key.indexOf('__reactProps') === 0; });
  if (awake) return;
  var entries = [];
  Array.prototype.forEach.call(form.elements, function (field) {
    if (!field.name || field.name.charAt(0) === '$' || /^(hidden|password|file|submit|button)$/.test(field.type)) return;
    if ((field.type === 'checkbox' || field.type === 'radio') && !field.checked) return;
    entries.push([field.name, field.value]);
  });
  try {
    sessionStorage.setItem('draft:sent ' + location.pathname, JSON.stringify(entries));
  } catch (error) {
    // No room, or none allowed: the form goes as it is.
  }
}, true);
