// What helps beside the page: ticks that stay, a number pad, the clocks, the live desk. Without it the page works too.
'use strict';

const each = (selector, work) => document.querySelectorAll(selector).forEach(work);

// Ticks are this device's own: they stay while the measurement does.
each('.ticks', (list) => {
  const name = `ticks ${list.dataset.job} ${list.dataset.of}`;
  const boxes = [...list.querySelectorAll('input')];
  const kept = (sessionStorage.getItem(name) || '').split('');
  boxes.forEach((box, place) => { box.checked = kept[place] === '1'; });
  list.addEventListener('change', () => {
    sessionStorage.setItem(name, boxes.map((box) => (box.checked ? '1' : '0')).join(''));
  });
});

// A number pad for a gloved thumb. The field stays a field: a range or a word can be typed.
each('.pad', (pad) => {
  const field = pad.parentElement.querySelector('input[name=say]');
  for (const key of ['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', '−', 'Clear', '⌫']) {
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = key;
    if (key === '⌫') button.setAttribute('aria-label', 'Delete the last');
    if (key === '−') button.setAttribute('aria-label', 'Minus');
    button.addEventListener('click', () => {
      if (key === 'Clear') field.value = '';
      else if (key === '⌫') field.value = field.value.slice(0, -1);
      else field.value += key === '−' ? '-' : key;
      field.dispatchEvent(new Event('input', { bubbles: true }));
    });
    pad.append(button);
  }
  pad.hidden = false;
});

// The number typed, as a mark on its bands; the unit chosen beside it counts. The program judges it with its uncertainty.
each('.number-field', (box) => {
  const here = box.querySelector('.here');
  if (!here) return;
  const verdict = box.querySelector('.verdict');
  const show = () => {
    const unit = box.querySelector('input[name=unit]:checked').dataset;
    const numbers = box.querySelector('input[name=say]').value.split(/[,;]\s+/).filter(Boolean)
      .map((text) => Number(text.trim().replace(',', '.').replace('−', '-')));
    const value = Number(unit.zero) + Number(unit.one) * (numbers.reduce((sum, next) => sum + next, 0) / numbers.length);
    const { low, high, first, last } = here.dataset;
    here.setAttribute('visibility', Number.isFinite(value) ? 'visible' : 'hidden');
    verdict.textContent = '';
    if (!Number.isFinite(value)) return;
    const share = Math.min(1, Math.max(0, (value - low) / (high - low)));
    here.setAttribute('transform', `translate(${Number(first) + share * (last - first)} 0)`);
    const within = [...box.querySelectorAll('[data-outcome]')]
      .find(({ dataset: { from, to } }) => !(value < from) && !(value > to));
    if (within) verdict.textContent = `As typed: ${within.dataset.outcome}`;
  };
  box.addEventListener('input', show);
  show();
});

// Tones: rising at the warning, long at the limit.
let sound = null;
const tone = (pitch, seconds) => {
  try {
    sound = sound || new AudioContext();
    const source = sound.createOscillator();
    source.frequency.value = pitch;
    source.connect(sound.destination);
    source.start();
    source.stop(sound.currentTime + seconds);
  } catch { /* no sound here: the words and the shaking say it too */ }
};
const shake = (pattern) => { if (navigator.vibrate) navigator.vibrate(pattern); };

// The clock of a stall test fills the screen.
each('.stall', (box) => {
  const form = box.closest('form');
  const limit = Number(box.dataset.limit);
  const warn = Number(box.dataset.warn);
  box.hidden = false;
  box.querySelector('[data-start]').addEventListener('click', async () => {
    const began = performance.now();
    const clock = document.createElement('div');
    clock.className = 'clock';
    clock.setAttribute('role', 'alertdialog');
    clock.setAttribute('aria-label', 'Stall test');
    const word = document.createElement('p');
    word.className = 'word';
    word.textContent = 'Full throttle';
    const count = document.createElement('p');
    count.className = 'count';
    const stop = document.createElement('button');
    stop.type = 'button';
    stop.className = 'main';
    stop.textContent = 'Off the throttle: stop';
    clock.append(word, count, stop);
    document.body.append(clock);
    stop.focus();
    tone(440, 0.15);
    // That it began is on disk too: the cool-down is kept if this device fails.
    const body = new URLSearchParams(new FormData(form));
    body.set('do', 'start');
    body.delete('say');
    const started = fetch(form.action, { method: 'POST', body })
      .then((reply) => reply.text())
      .then((text) => new DOMParser().parseFromString(text, 'text/html').querySelector('input[name=at]'))
      .catch(() => null);
    let warned = false;
    let over = false;
    const timer = setInterval(() => {
      const gone = (performance.now() - began) / 1000;
      count.textContent = gone.toFixed(1);
      if (!warned && gone >= warn) {
        warned = true;
        word.textContent = 'OFF THE THROTTLE';
        clock.classList.add('off');
        tone(880, 0.3);
        shake(200);
      }
      if (!over && gone >= limit) {
        over = true;
        word.textContent = 'OFF THE THROTTLE NOW';
        tone(1320, 1.5);
        shake([400, 100, 400]);
      }
    }, 50);
    stop.addEventListener('click', async () => {
      clearInterval(timer);
      stop.disabled = true;
      const held = (performance.now() - began) / 1000;
      const at = await started;
      if (at) form.querySelector('input[name=at]').value = at.value;
      form.querySelector('input[name=say]').value = held.toFixed(1);
      const word = document.createElement('input');
      word.type = 'hidden';
      word.name = 'do';
      word.value = 'held';
      form.append(word);
      form.submit();
    }, { once: true });
  });
});

// A time from the lever to the bump, so many times.
each('.lag', (box) => {
  const button = box.querySelector('[data-lag]');
  const field = box.closest('form').querySelector('input[name=say]');
  let began = null;
  button.addEventListener('click', () => {
    if (began === null) {
      began = performance.now();
      button.textContent = 'At the bump';
      return;
    }
    const seconds = ((performance.now() - began) / 1000).toFixed(2);
    began = null;
    button.textContent = 'At the lever';
    field.value += (field.value ? ', ' : '') + seconds;
    field.dispatchEvent(new Event('input', { bubbles: true }));
  });
  box.hidden = false;
});

// What is left of a cool-down.
each('[data-left]', (box) => {
  const ends = performance.now() + 1000 * Number(box.dataset.left);
  const waits = document.querySelector('.answer') === null;
  const timer = setInterval(() => {
    const left = Math.max(0, Math.ceil((ends - performance.now()) / 1000));
    box.querySelector('.seconds').textContent = left;
    if (left > 0) return;
    clearInterval(timer);
    box.textContent = 'Cooled down.';
    tone(660, 0.6);
    shake(300);
    if (waits) location.reload();
  }, 250);
});

// A recording that is too large is not sent.
each('input[data-most]', (field) => {
  field.addEventListener('change', () => {
    const large = field.files[0] && field.files[0].size > Number(field.dataset.most);
    field.setCustomValidity(large ? 'That file is too large: cut it, or leave out columns.' : '');
    field.reportValidity();
  });
});

// The desk follows the job.
each('.live', (live) => {
  setInterval(async () => {
    try {
      const reply = await fetch(live.dataset.at, { cache: 'no-store' });
      if (reply.ok && (await reply.text()) !== live.dataset.now) location.reload();
    } catch { /* the program is not there: asked again */ }
  }, 2000);
});
