import * as THREE from 'three';
import { button, element } from './dom.js';
import { maskShade } from './maskShade.js';
import { type Clip, frameAt, framesPassed, mountTurn, pictureOrientations } from './motion.js';
import { LEFT_LAYER, type MovieDomes, type MovieLayout, movieDomes } from './movie.js';
import { greenhouse } from './room.js';

/** Which side of the correction is on show. */
type Mode = 'before' | 'after' | 'split';

/** Vertical field of the picture on the page, degrees. */
const FIELD_DEG = 70;

/**
 * The clip in motion: a made-up greenhouse, or the person's own half-equirect movie, through the
 * camera as it was and as it is corrected. The frame of a movie is the one the browser says it
 * shows; the room keeps to the page's clock.
 */
export class Preview {
  readonly view: HTMLElement;
  private readonly canvas = element('canvas', { tabindex: '0', 'aria-label': 'preview' });
  private readonly renderer: THREE.WebGLRenderer;
  private readonly scene = new THREE.Scene();
  private readonly camera = new THREE.PerspectiveCamera(FIELD_DEG, 1, 0.05, 200);
  /** Carries the camera, in a headset too: turning it turns the world about the viewer. */
  private readonly viewer = new THREE.Group();
  private readonly room = greenhouse();
  private readonly modes = new Map<Mode, HTMLButtonElement>();
  private readonly scrubber = element('input', { type: 'range', min: '0', value: '0', step: '1' });
  private readonly file = element('input', { type: 'file', accept: 'video/*', id: 'movie' });
  private readonly readout = element('output');
  private readonly play = button('Play', () => this.toggle());
  private readonly message = element('p', { role: 'status' });
  private clip!: Clip;
  private before!: Float64Array;
  private shade: THREE.Mesh | undefined;
  /** The movie that was chosen last; it is on show as soon as the browser has read its beginning. */
  private source: { video: HTMLVideoElement; url: string } | undefined;
  private movie: { video: HTMLVideoElement; domes: MovieDomes } | undefined;
  private layout: MovieLayout = 'side-by-side';
  private mode: Mode = 'split';
  private frame = 0;
  private playing = false;
  private lastTick = 0;

  constructor() {
    this.renderer = new THREE.WebGLRenderer({ canvas: this.canvas, antialias: true });
    this.renderer.xr.enabled = true;
    this.renderer.xr.setReferenceSpaceType('local');
    this.viewer.add(this.camera);
    this.scene.add(this.viewer, this.room);
    this.camera.layers.enable(LEFT_LAYER);
    this.view = element(
      'section',
      { class: 'preview', 'aria-label': 'preview' },
      element('h2', {}, 'Preview'),
      this.canvas,
      this.controls(),
      this.message,
    );
    this.listen();
    this.renderer.setAnimationLoop((time) => this.tick(time));
  }

  /** Shows another clip, from its first frame. */
  show(clip: Clip): void {
    this.clip = clip;
    this.before = pictureOrientations(clip);
    this.closeMovie();
    // An input that still holds a file would not tell when the same one is chosen again.
    this.file.value = '';
    this.say('');
    if (this.shade) this.viewer.remove(this.shade);
    this.shade = clip.mask && maskShade(clip.mask);
    if (this.shade) this.viewer.add(this.shade);
    this.scrubber.max = String(clip.times.length - 1);
    this.playing = false;
    this.play.textContent = 'Play';
    this.goTo(0);
    this.choose(this.mode);
  }

  private controls(): HTMLElement {
    for (const mode of ['before', 'after', 'split'] as const) {
      this.modes.set(
        mode,
        button(mode, () => this.choose(mode)),
      );
    }
    const { file } = this;
    file.addEventListener('change', () => file.files?.[0] && this.openMovie(file.files[0]));
    const layout = element(
      'select',
      { id: 'layout' },
      element('option', { value: 'side-by-side' }, 'side by side'),
      element('option', { value: 'top-bottom' }, 'top and bottom'),
    );
    layout.addEventListener('change', () => {
      this.layout = layout.value as MovieLayout;
      if (this.movie) this.placeMovie(this.movie.video);
    });
    this.scrubber.setAttribute('aria-label', 'frame');
    this.scrubber.addEventListener('input', () => this.goTo(Number(this.scrubber.value)));
    return element(
      'div',
      { class: 'controls' },
      element('div', { role: 'group', 'aria-label': 'what to show' }, ...this.modes.values()),
      element('div', { class: 'timeline' }, this.play, this.scrubber, this.readout),
      element(
        'div',
        {},
        element(
          'label',
          { for: 'movie' },
          'Your own movie (half-equirect, two eyes; it stays on this machine): ',
        ),
        file,
        ' ',
        element('label', { for: 'layout' }, 'eyes '),
        layout,
        ' ',
        this.headsetButton(),
      ),
    );
  }

  private headsetButton(): HTMLButtonElement {
    const enter = button('Enter headset', () => {
      this.enterHeadset().catch((error: Error) => this.say(`No headset session: ${error.message}`));
    });
    enter.disabled = true;
    enter.title = 'needs a browser with WebXR and a headset';
    navigator.xr?.isSessionSupported('immersive-vr').then((supported) => {
      enter.disabled = !supported;
    });
    return enter;
  }

  private async enterHeadset(): Promise<void> {
    const session = await navigator.xr!.requestSession('immersive-vr');
    if (this.mode === 'split') this.choose('after');
    // In a headset each eye has a layer of its own; the page's camera shows the left one.
    this.camera.layers.disable(LEFT_LAYER);
    const leave = () => {
      this.camera.layers.enable(LEFT_LAYER);
      // three.js leaves the page's camera where the head was last.
      this.camera.position.set(0, 0, 0);
      this.camera.quaternion.identity();
      this.resize();
    };
    // three.js must hear of the end first: until then it does not draw on the page.
    await this.renderer.xr.setSession(session).catch((error: Error) => {
      leave();
      throw error;
    });
    session.addEventListener('end', leave);
  }

  private listen(): void {
    new ResizeObserver(() => this.resize()).observe(this.canvas);
    this.canvas.addEventListener('dragover', (event) => event.preventDefault());
    this.canvas.addEventListener('drop', (event) => {
      event.preventDefault();
      const file = event.dataTransfer?.files[0];
      if (file) this.openMovie(file);
    });
    this.canvas.addEventListener('keydown', (event) => {
      const actions: Readonly<Record<string, () => void>> = {
        ' ': () => this.toggle(),
        ArrowLeft: () => this.goTo(this.frame - 1),
        ArrowRight: () => this.goTo(this.frame + 1),
        '1': () => this.choose('before'),
        '2': () => this.choose('after'),
        '3': () => this.choose('split'),
      };
      if (!(event.key in actions) || event.ctrlKey || event.metaKey || event.altKey) return;
      actions[event.key]!();
      event.preventDefault();
    });
  }

  private choose(mode: Mode): void {
    this.mode = mode;
    for (const [each, made] of this.modes) made.setAttribute('aria-pressed', String(each === mode));
    this.canvas.dataset.mode = mode;
    this.draw();
  }

  private toggle(): void {
    this.playing = !this.playing;
    this.play.textContent = this.playing ? 'Pause' : 'Play';
    this.lastTick = performance.now();
    const video = this.movie?.video;
    if (!video) return;
    if (this.playing) video.play().catch((error: Error) => this.say(error.message));
    else video.pause();
  }

  /** Goes to a frame; a movie is asked for the middle of it and answers with what it shows. */
  private goTo(frame: number): void {
    const wanted = Math.min(Math.max(frame, 0), this.clip.times.length - 1);
    if (this.movie) {
      const { numerator, denominator } = this.clip.frameRate;
      this.movie.video.currentTime = ((wanted + 0.5) * denominator) / numerator;
    } else this.land(wanted);
  }

  /** A frame is on show. */
  private land(frame: number): void {
    this.frame = frame;
    this.scrubber.value = String(frame);
    this.readout.textContent = `frame ${this.clip.firstFrame + frame}, ${this.clip.times[frame]!.toFixed(2)} s`;
    this.canvas.dataset.frame = String(frame);
    this.draw();
  }

  private openMovie(file: File): void {
    this.closeMovie();
    const url = URL.createObjectURL(file);
    const video = element('video', { muted: '', playsinline: '' });
    video.muted = true;
    video.src = url;
    this.source = { video, url };
    const current = () => this.source?.video === video;
    video.addEventListener('error', () => {
      if (!current()) return;
      this.closeMovie();
      this.say(`${file.name} cannot be played by this browser; make an H.264 or VP9 proxy of it.`);
    });
    video.addEventListener('ended', () => current() && this.playing && this.toggle());
    video.addEventListener('loadeddata', () => {
      if (!current()) return;
      this.placeMovie(video);
      this.say(
        `${file.name}: frame 0 is taken as the clip's first frame.${
          this.clip.picture === 'half-equirect'
            ? ''
            : ' The clip was corrected for fisheye pictures; this movie holds a half-sphere only, so edges may show that those do not have.'
        }`,
      );
    });
    const onFrame = () => {
      if (!current()) return;
      video.requestVideoFrameCallback(onFrame);
      // The first frame may come before the movie is placed, which asks for it again.
      if (!this.movie) return;
      this.land(frameAt(this.clip, this.movie.domes.refresh()));
    };
    video.requestVideoFrameCallback(onFrame);
  }

  private placeMovie(video: HTMLVideoElement): void {
    this.removeDomes();
    const domes = movieDomes(video, this.layout, this.clip);
    this.movie = { video, domes };
    this.scene.add(domes.domes);
    this.room.visible = false;
    const wanted = this.frame;
    this.land(frameAt(this.clip, domes.refresh()));
    this.goTo(wanted);
  }

  private removeDomes(): void {
    if (!this.movie) return;
    this.scene.remove(this.movie.domes.domes);
    this.movie.domes.dispose();
  }

  private closeMovie(): void {
    this.removeDomes();
    if (this.source) {
      this.source.video.pause();
      URL.revokeObjectURL(this.source.url);
    }
    this.source = this.movie = undefined;
    this.room.visible = true;
  }

  private tick(now: number): void {
    if (this.playing && !this.movie && this.clip) {
      const { frames, until } = framesPassed(this.clip, this.lastTick, now);
      this.lastTick = until;
      if (frames > 0) {
        const next = this.frame + frames;
        this.land(next < this.clip.times.length ? next : 0);
      }
    }
    if (this.renderer.xr.isPresenting) this.render(this.mode === 'before' ? 'before' : 'after');
  }

  private draw(): void {
    if (this.renderer.xr.isPresenting || !this.clip) return;
    const { width, height } = this.renderer.getSize(new THREE.Vector2());
    this.renderer.setScissorTest(true);
    const halves: ['before' | 'after', number][] =
      this.mode === 'split'
        ? [
            ['before', 0],
            ['after', 1],
          ]
        : [[this.mode, 0]];
    const share = width / halves.length;
    this.camera.aspect = share / height;
    this.camera.updateProjectionMatrix();
    for (const [side, place] of halves) {
      this.renderer.setViewport(place * share, 0, share, height);
      this.renderer.setScissor(place * share, 0, share, height);
      this.render(side);
    }
  }

  private render(side: 'before' | 'after'): void {
    const at = (quaternions: Float64Array) =>
      quaternions.subarray(4 * this.frame, 4 * this.frame + 4);
    if (this.movie) {
      this.viewer.quaternion.identity();
      // The movie is as the camera recorded it: the turn of an upside-down mount is part of K.
      const turn = side === 'after' ? at(this.clip.corrections) : mountTurn(this.clip);
      this.movie.domes.domes.quaternion.fromArray(turn);
      this.movie.domes.align(side === 'after');
    } else {
      this.viewer.quaternion.fromArray(at(side === 'after' ? this.clip.intended : this.before));
    }
    if (this.shade) this.shade.visible = side === 'after';
    this.renderer.render(this.scene, this.camera);
  }

  private resize(): void {
    if (this.renderer.xr.isPresenting) return;
    const { clientWidth, clientHeight } = this.canvas;
    if (clientWidth === 0) return;
    this.renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    this.renderer.setSize(clientWidth, clientHeight, false);
    this.draw();
  }

  private say(text: string): void {
    this.message.textContent = text;
  }
}
