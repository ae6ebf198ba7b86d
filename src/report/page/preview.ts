import * as THREE from 'three';
import { clamp } from '../../math.js';
import { clockTime } from '../../readable.js';
import { coveredHalfAngle } from '../../rig/coverage.js';
import { button, element } from './dom.js';
import { headsetButton, INTO_A_HEADSET } from './headset.js';
import { icon } from './icons.js';
import { maskShade } from './maskShade.js';
import { type Clip, framesPassed, mountTurn, pictureOrientations } from './motion.js';
import { LEFT_LAYER } from './movie.js';
import { OwnMovie } from './ownMovie.js';
import { greenhouse } from './room.js';
import { type Whole, WholeView } from './wholeView.js';

/** Which side of the correction is on show. */
export type Mode = 'before' | 'after' | 'split';

/** Vertical field of the picture on the page, degrees. */
const FIELD_DEG = 70;

/** What can be switched on in the picture. */
type Switch = 'level' | 'whole' | 'mask';

/**
 * The clip in motion: a made-up greenhouse, or the person's own half-equirect movie, through the
 * camera as it was and as it is corrected. The frame of a movie is the one the browser says it
 * shows; the room keeps to the page's clock. One of these serves every clip of a page.
 */
export class Preview {
  /** The picture with its names and its controls. */
  readonly view: HTMLElement;
  /** The person's own movie, and the headset. */
  readonly extras: HTMLElement;
  /** Called for each frame that comes on show. */
  onFrame: (frame: number) => void = () => {};
  private readonly canvas = element('canvas', { 'aria-label': 'the clip in motion', role: 'img' });
  private readonly stage: HTMLElement;
  private readonly renderer: THREE.WebGLRenderer;
  private readonly scene = new THREE.Scene();
  private readonly camera = new THREE.PerspectiveCamera(FIELD_DEG, 1, 0.05, 200);
  /** Carries the camera, in a headset too: turning it turns the world about the viewer. */
  private readonly viewer = new THREE.Group();
  private readonly room = greenhouse();
  private readonly modes = new Map<Mode, HTMLButtonElement>();
  private readonly switches: Record<Switch, HTMLButtonElement>;
  private readonly readout = element('output');
  private readonly play = button('Play', () => this.toggle());
  private readonly wholeView = new WholeView(LEFT_LAYER);
  private roomTaken = false;
  private clip: Clip | undefined;
  private before!: Float64Array;
  private shade: THREE.Mesh | undefined;
  private readonly movie: OwnMovie;
  private mode: Mode = 'split';
  private frame = 0;
  private playing = false;
  private lastTick = 0;

  constructor() {
    this.renderer = new THREE.WebGLRenderer({ canvas: this.canvas, antialias: hasGraphicsCard() });
    this.renderer.xr.enabled = true;
    this.renderer.xr.setReferenceSpaceType('local');
    this.viewer.add(this.camera);
    this.scene.add(this.viewer, this.room);
    this.camera.layers.enable(LEFT_LAYER);
    const switchOf = (name: Switch, label: string) => {
      const made = button(label, () => this.flip(name));
      made.setAttribute('aria-pressed', 'false');
      return made;
    };
    this.switches = {
      level: switchOf('level', 'Level line'),
      whole: switchOf('whole', 'Whole view'),
      mask: switchOf('mask', 'Mask'),
    };
    this.stage = element(
      'div',
      { class: 'stage' },
      this.canvas,
      element('span', { class: 'pane-name before', 'aria-hidden': 'true' }, 'before'),
      element('span', { class: 'pane-name after', 'aria-hidden': 'true' }, 'after'),
      element('div', { class: 'level-line' }),
    );
    this.view = element('div', { class: 'preview' }, this.stage);
    this.movie = new OwnMovie({
      scene: this.scene,
      clip: () => this.clip,
      frame: () => this.frame,
      isPlaying: () => this.playing,
      land: (frame) => this.land(frame),
      onShow: (shown) => {
        this.room.visible = !shown;
        // What was taken of the room would show behind a movie.
        this.roomTaken = false;
      },
      stop: () => this.toggle(),
    });
    this.extras = this.belowTheClip();
    this.listen();
    this.showPlaying();
    this.renderer.setAnimationLoop((time) => this.tick(time));
  }

  /** Shows another clip, from its first frame. */
  show(clip: Clip): void {
    this.clip = clip;
    this.before = pictureOrientations(clip);
    this.movie.reset();
    if (this.shade) this.viewer.remove(this.shade);
    this.shade = clip.mask && maskShade(clip.mask);
    if (this.shade) this.viewer.add(this.shade);
    this.switches.mask.hidden = !clip.mask;
    this.switches.mask.setAttribute('aria-pressed', 'true');
    this.playing = false;
    this.showPlaying();
    this.goTo(0);
    this.choose(this.mode);
  }

  /** Stops what plays: the clip is not looked at any more. */
  pause(): void {
    if (this.playing) this.toggle();
  }

  /** The buttons below the strip. */
  controls(worst: (() => void) | undefined): HTMLElement {
    for (const mode of ['before', 'after', 'split'] as const) {
      if (this.modes.has(mode)) continue;
      const made = button(mode, () => this.choose(mode));
      made.setAttribute('aria-pressed', String(mode === this.mode));
      this.modes.set(mode, made);
    }
    return element(
      'div',
      { class: 'controls' },
      this.play,
      element('div', { role: 'group', 'aria-label': 'what to show' }, ...this.modes.values()),
      ...Object.values(this.switches),
      ...(worst ? [button('Worst moment', worst)] : []),
      this.readout,
    );
  }

  private belowTheClip(): HTMLElement {
    const { movie } = this;
    return element(
      'section',
      { class: 'own', 'aria-labelledby': 'own-title' },
      element('h3', { id: 'own-title' }, 'In your own picture, in a headset'),
      movie.view,
      movie.message,
      headsetButton(() => {
        this.enterHeadset().catch((error: Error) =>
          movie.say(`No headset session: ${error.message}`),
        );
      }),
      element('p', { class: 'quiet' }, INTO_A_HEADSET),
    );
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
      if (file) this.movie.open(file);
    });
  }

  /** Before, after, or both beside each other. */
  choose(mode: Mode): void {
    this.mode = mode;
    for (const [each, made] of this.modes) made.setAttribute('aria-pressed', String(each === mode));
    this.canvas.dataset.mode = this.stage.dataset.mode = mode;
    this.draw();
  }

  /** Switches the level line, the whole half-sphere or the mask on or off. */
  flip(name: Switch): void {
    const made = this.switches[name];
    if (made.hidden) return;
    const on = made.getAttribute('aria-pressed') !== 'true';
    made.setAttribute('aria-pressed', String(on));
    this.stage.dataset[name] = String(on);
    this.draw();
  }

  private isOn(name: Switch): boolean {
    return this.switches[name].getAttribute('aria-pressed') === 'true';
  }

  private showPlaying(): void {
    this.play.replaceChildren(
      icon(this.playing ? 'pause' : 'play'),
      this.playing ? 'Pause' : 'Play',
    );
  }

  /** Plays or stops. */
  toggle(): void {
    this.playing = !this.playing;
    this.showPlaying();
    this.lastTick = performance.now();
    if (this.playing) this.movie.play();
    else this.movie.pause();
  }

  /** A frame further or back. */
  step(by: number): void {
    this.goTo(this.frame + by);
  }

  /** Goes to a frame; a movie is asked for the middle of it and answers with what it shows. */
  goTo(frame: number): void {
    if (!this.clip) return;
    const wanted = clamp(frame, 0, this.clip.frames - 1);
    if (this.movie.domes) this.movie.seek(this.clip, wanted);
    else this.land(wanted);
  }

  /** A frame is on show. */
  private land(frame: number): void {
    const clip = this.clip!;
    this.frame = frame;
    const { numerator, denominator } = clip.frameRate;
    this.readout.textContent = `${clockTime((frame * denominator) / numerator)} · frame ${clip.firstFrame + frame}`;
    this.canvas.dataset.frame = String(frame);
    this.draw();
    this.onFrame(frame);
  }

  private tick(now: number): void {
    if (this.playing && !this.movie.domes && this.clip) {
      const { frames, until } = framesPassed(this.clip, this.lastTick, now);
      this.lastTick = until;
      if (frames > 0) {
        const next = this.frame + frames;
        this.land(next < this.clip.frames ? next : 0);
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
      const isWhole = this.isOn('whole');
      if (isWhole) this.takeAround(side);
      this.renderer.setViewport(place * share, 0, share, height);
      this.renderer.setScissor(place * share, 0, share, height);
      if (isWhole) this.wholeView.draw(this.renderer, share / height, this.wholeOf(side));
      else this.render(side);
    }
  }

  private at(quaternions: Float64Array): Float64Array {
    return quaternions.subarray(4 * this.frame, 4 * this.frame + 4);
  }

  private render(side: 'before' | 'after'): void {
    this.pose(side);
    if (this.shade) this.shade.visible = side === 'after' && this.isOn('mask');
    this.renderer.render(this.scene, this.camera);
  }

  /** Turns the viewer in the room, or the movie about the viewer. */
  private pose(side: 'before' | 'after'): void {
    const clip = this.clip!;
    const { domes } = this.movie;
    if (domes) {
      this.viewer.quaternion.identity();
      // The movie is as the camera recorded it: the turn of an upside-down mount is part of K.
      const turn = side === 'after' ? this.at(clip.corrections) : mountTurn(clip);
      domes.domes.quaternion.fromArray(turn);
      domes.align(side === 'after');
    } else {
      this.viewer.quaternion.fromArray(this.at(side === 'after' ? clip.intended : this.before));
    }
  }

  /** Keeps what is around the viewer for the whole view; the room stands still, a movie does not. */
  private takeAround(side: 'before' | 'after'): void {
    const { domes } = this.movie;
    if (!domes && this.roomTaken) return;
    this.pose(side);
    if (this.shade) this.shade.visible = false;
    this.renderer.setScissorTest(false);
    this.wholeView.take(this.renderer, this.scene);
    this.renderer.setScissorTest(true);
    this.roomTaken = !domes;
  }

  private wholeOf(side: 'before' | 'after'): Whole {
    const clip = this.clip!;
    const orientation = new THREE.Quaternion();
    const correction = new THREE.Quaternion();
    if (!this.movie.domes) {
      orientation.fromArray(this.at(side === 'after' ? clip.intended : this.before));
    }
    if (side === 'after') correction.fromArray(this.at(clip.corrections));
    return {
      orientation,
      correction,
      // Without a description of the lens, what a half-equirect picture holds.
      halfAngle: clip.rig ? coveredHalfAngle(clip.rig, clip.picture) : Math.PI / 2,
      mask: side === 'after' && this.isOn('mask') ? clip.mask : undefined,
    };
  }

  private resize(): void {
    if (this.renderer.xr.isPresenting) return;
    const { clientWidth, clientHeight } = this.canvas;
    if (clientWidth === 0) return;
    this.renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    this.renderer.setSize(clientWidth, clientHeight, false);
    this.draw();
  }
}

/** Whether something faster than the processor draws; smooth edges cost that several times as much. */
function hasGraphicsCard(): boolean {
  const context = document.createElement('canvas').getContext('webgl2');
  const names = context?.getExtension('WEBGL_debug_renderer_info');
  const name = names ? String(context!.getParameter(names.UNMASKED_RENDERER_WEBGL)) : '';
  // Browsers keep few contexts at a time.
  context?.getExtension('WEBGL_lose_context')?.loseContext();
  return !/swiftshader|llvmpipe|software|basic render/i.test(name);
}
