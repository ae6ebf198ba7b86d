// Runs in the page, before its own script: hands pictures to the test as brightness, and keeps what
// the page draws at the moment it draws it.
globalThis.looking = (() => {
  const surface = document.createElement('canvas');

  function handed(width, height, paint) {
    surface.width = width;
    surface.height = height;
    const context = surface.getContext('2d', { willReadFrequently: true });
    paint(context);
    const { data } = context.getImageData(0, 0, width, height);
    let binary = '';
    for (let k = 0; k < data.length; k += 4) {
      binary += String.fromCharCode(
        Math.round(0.2126 * data[k] + 0.7152 * data[k + 1] + 0.0722 * data[k + 2]),
      );
    }
    return { width, height, base64: btoa(binary) };
  }

  async function atPng(base64) {
    const image = new Image();
    image.src = `data:image/png;base64,${base64}`;
    await image.decode();
    return handed(image.width, image.height, (context) => context.drawImage(image, 0, 0));
  }

  /** The drawing buffer; holds a picture only in the task that drew it. */
  function atCanvas() {
    const canvas = document.querySelector('canvas[data-mode]');
    const { width, height } = canvas;
    const picture = handed(width, height, (context) => context.drawImage(canvas, 0, 0));
    return { frame: Number(canvas.dataset.frame), ...picture };
  }

  const looking = { atPng, keeping: false, kept: [], wanted: undefined };

  const request = HTMLVideoElement.prototype.requestVideoFrameCallback;
  HTMLVideoElement.prototype.requestVideoFrameCallback = function (callback) {
    return request.call(this, (now, metadata) => {
      callback(now, metadata);
      if (looking.keeping) looking.kept.push(atCanvas());
    });
  };

  /** Wraps the emulated session's frames, so that the next one is kept. */
  looking.watchHeadset = () => {
    const requestFrame = XRSession.prototype.requestAnimationFrame;
    XRSession.prototype.requestAnimationFrame = function (callback) {
      return requestFrame.call(this, (now, frame) => {
        callback(now, frame);
        if (looking.wanted) {
          looking.wanted(atCanvas());
          looking.wanted = undefined;
        }
      });
    };
  };
  looking.nextInHeadset = () =>
    new Promise((resolve) => {
      looking.wanted = resolve;
    });

  /** Points at the middle of a frame on the strip, as a hand does. */
  looking.drag = (frame) => {
    const slider = document.querySelector('.scrubber');
    const { left, width } = slider.getBoundingClientRect();
    const frames = Number(slider.getAttribute('aria-valuemax')) + 1;
    const clientX = left + ((frame + 0.5) / frames) * width;
    slider.dispatchEvent(new PointerEvent('pointerdown', { clientX, bubbles: true }));
  };

  /**
   * Contrast of every text that can be seen, by the formula of WCAG 2.2 ("relative luminance" and
   * "contrast ratio"), against the first painted ground behind it.
   */
  looking.contrasts = () => {
    const rgba = (text) => {
      surface.width = surface.height = 1;
      const context = surface.getContext('2d', { willReadFrequently: true });
      context.fillStyle = text;
      context.fillRect(0, 0, 1, 1);
      return context.getImageData(0, 0, 1, 1).data;
    };
    const luminance = ([r, g, b]) => {
      const linear = (byte) => {
        const value = byte / 255;
        return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
      };
      return 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    };
    const ground = (node) => {
      for (let at = node; at; at = at.parentElement) {
        const paint = rgba(getComputedStyle(at).backgroundColor);
        if (paint[3] === 255) return paint;
      }
      return rgba('white');
    };
    const found = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let text = walker.nextNode(); text; text = walker.nextNode()) {
      const parent = text.parentElement;
      // WCAG asks nothing of controls that cannot be used.
      if (!text.data.trim() || !parent.checkVisibility() || parent.closest(':disabled')) continue;
      const [a, b] = [rgba(getComputedStyle(parent).color), ground(parent)].map(luminance);
      const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
      found.push({ text: text.data.trim().slice(0, 40), ratio });
    }
    return found;
  };

  /** What kind of place has the focus. */
  looking.where = () => {
    const at = document.activeElement;
    if (at.matches('.plot')) return 'plot';
    if (at.matches('.scrubber')) return 'scrubber';
    if (at.closest('.row')) return 'row';
    return at.closest('.controls') ? 'controls' : at.localName;
  };

  /** How many pixels between the axes of a plot hold each of the named colours of the palette, nearly:
   * they lie more than 140 apart, and thin lines are blended. */
  looking.inks = (canvas, names) => {
    const [whole, over] = [canvas, canvas.parentElement.querySelector('.u-over')].map((node) =>
      node.getBoundingClientRect(),
    );
    const scale = canvas.width / whole.width;
    const { data } = canvas
      .getContext('2d')
      .getImageData(
        Math.ceil((over.left - whole.left) * scale),
        Math.ceil((over.top - whole.top) * scale),
        Math.floor(over.width * scale),
        Math.floor(over.height * scale),
      );
    const style = getComputedStyle(document.documentElement);
    return names.map((name) => {
      const hex = style.getPropertyValue(`--${name}`).trim();
      const [r, g, b] = [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16));
      let count = 0;
      for (let k = 0; k < data.length; k += 4) {
        const far = Math.abs(data[k] - r) + Math.abs(data[k + 1] - g) + Math.abs(data[k + 2] - b);
        if (data[k + 3] > 200 && far < 70) count++;
      }
      return count;
    });
  };

  // How many packed numbers were read.
  looking.unpacked = 0;
  const read = DataView.prototype.getInt16;
  DataView.prototype.getInt16 = function (...where) {
    looking.unpacked++;
    return read.apply(this, where);
  };

  let calls = 0;
  for (const name of ['drawElements', 'drawArrays']) {
    const draw = WebGL2RenderingContext.prototype[name];
    WebGL2RenderingContext.prototype[name] = function (...drawn) {
      calls++;
      return draw.apply(this, drawn);
    };
  }

  /** Drags along the strip and waits for each picture; beside it, an empty canvas of that size. */
  looking.scrub = (count) => {
    const canvas = document.querySelector('.preview canvas');
    const pixel = new Uint8Array(4);
    const finished = (gl) => gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel);
    const empty = document.createElement('canvas');
    [empty.width, empty.height] = [canvas.width, canvas.height];
    const [gl, none] = [canvas, empty].map((each) =>
      each.getContext('webgl2', { antialias: true }),
    );
    const timed = (draw) => {
      const since = performance.now();
      for (let k = 0; k < count; k++) draw(k);
      return (performance.now() - since) / count;
    };
    const seen = new Set();
    looking.drag(0);
    calls = 0;
    const perFrameMs = timed((k) => {
      looking.drag(40 * (k + 1));
      finished(gl);
      seen.add(canvas.dataset.frame);
    });
    const drawn = calls;
    const emptyMs = timed((k) => {
      none.clearColor(k / count, 0, 0, 1);
      none.clear(none.COLOR_BUFFER_BIT);
      finished(none);
    });
    const size = `${canvas.width} x ${canvas.height}`;
    return { frames: seen.size, calls: drawn, ratio: perFrameMs / emptyMs, perFrameMs, size };
  };

  return looking;
})();
