import type * as THREE from 'three';
import { element } from './dom.js';
import { type Clip, frameAt } from './motion.js';
import { type MovieDomes, type MovieLayout, movieDomes } from './movie.js';
import { FrameStamps, misfits } from './proxyFit.js';

/** What a movie needs of the preview that shows it. */
export interface MovieHost {
  readonly scene: THREE.Scene;
  readonly clip: () => Clip | undefined;
  readonly frame: () => number;
  readonly isPlaying: () => boolean;
  /** The movie shows this frame now. */
  readonly land: (frame: number) => void;
  /** A movie came on show or went. */
  readonly onShow: (shown: boolean) => void;
  /** The movie came to its end while it played. */
  readonly stop: () => void;
}

/**
 * The person's own movie in the place of the room. It stays on the machine; what of it does not fit
 * the clip is said in words.
 */
export class OwnMovie {
  /** The choice of file and layout. */
  readonly view: HTMLElement;
  /** What is to say about the movie, or the headset. */
  readonly message = element('p', { role: 'status', class: 'quiet' });
  private readonly file = element('input', { type: 'file', accept: 'video/*', id: 'movie' });
  private readonly host: MovieHost;
  private layout: MovieLayout = 'side-by-side';
  /** The movie that was chosen last; it is on show as soon as the browser has read its beginning. */
  private source: { video: HTMLVideoElement; url: string; name: string } | undefined;
  private onShow: { video: HTMLVideoElement; domes: MovieDomes } | undefined;
  private stamps = new FrameStamps();
  /** The frame that the movie was asked for last. */
  private asked: number | undefined;

  constructor(host: MovieHost) {
    this.host = host;
    const { file } = this;
    file.addEventListener('change', () => file.files?.[0] && this.open(file.files[0]));
    const layout = element(
      'select',
      { id: 'layout' },
      element('option', { value: 'side-by-side' }, 'side by side'),
      element('option', { value: 'top-bottom' }, 'top and bottom'),
    );
    layout.addEventListener('change', () => {
      this.layout = layout.value as MovieLayout;
      if (!this.onShow) return;
      this.place(this.onShow.video);
      this.tellFit();
    });
    const words = 'Your movie (half-equirect, two eyes; it stays on this machine)';
    this.view = element(
      'div',
      { class: 'own-movie' },
      element('label', { for: 'movie' }, words),
      file,
      element('span', {}, element('label', { for: 'layout' }, 'eyes '), layout),
    );
  }

  /** The half-spheres, while a movie is on show. */
  get domes(): MovieDomes | undefined {
    return this.onShow?.domes;
  }

  /** Asks for the middle of a frame; the movie answers with what it shows. */
  seek({ frameRate: { numerator, denominator } }: Clip, frame: number): void {
    this.asked = frame;
    if (this.onShow) this.onShow.video.currentTime = ((frame + 0.5) * denominator) / numerator;
  }

  play(): void {
    this.onShow?.video.play().catch((error: Error) => this.say(error.message));
  }

  pause(): void {
    this.onShow?.video.pause();
  }

  say(text: string): void {
    this.message.textContent = text;
  }

  /** Another clip is shown, which this movie is not of. */
  reset(): void {
    this.close();
    // An input that still holds a file would not tell when the same one is chosen again.
    this.file.value = '';
    this.say('');
  }

  open(file: File): void {
    this.close();
    const url = URL.createObjectURL(file);
    const video = element('video', { muted: '', playsinline: '' });
    video.muted = true;
    video.src = url;
    this.source = { video, url, name: file.name };
    this.stamps = new FrameStamps();
    const current = () => this.source?.video === video;
    video.addEventListener('error', () => {
      if (!current()) return;
      this.close();
      this.say(`${file.name} cannot be played by this browser; make an H.264 or VP9 proxy of it.`);
    });
    video.addEventListener('ended', () => current() && this.host.isPlaying() && this.host.stop());
    video.addEventListener('loadeddata', () => {
      if (!current()) return;
      this.place(video);
      this.tellFit();
    });
    const onFrame = () => {
      if (!current()) return;
      video.requestVideoFrameCallback(onFrame);
      // The first frame may come before the movie is placed, which asks for it again.
      const clip = this.host.clip();
      if (!this.onShow || !clip) return;
      const mediaTime = this.onShow.domes.refresh();
      this.watch(clip, mediaTime);
      this.host.land(frameAt(clip, mediaTime));
    };
    video.requestVideoFrameCallback(onFrame);
  }

  /** Keeps what a shown frame tells of the movie's rate, and says where that does not fit. */
  private watch(clip: Clip, mediaTime: number): void {
    const told = this.stamps.slipped;
    if (this.host.isPlaying()) this.stamps.played(mediaTime);
    else if (this.asked !== undefined && !this.onShow!.video.seeking) {
      this.stamps.sought(clip, this.asked, mediaTime);
    }
    if (this.stamps.slipped !== told) this.tellFit();
  }

  /** The movie's name, where it begins, and what of it does not fit the clip. */
  private tellFit(): void {
    const { source } = this;
    const clip = this.host.clip();
    if (!source || !clip) return;
    const { videoWidth: width, videoHeight: height, duration: durationS } = source.video;
    const found = { durationS, width, height, stamps: this.stamps };
    const wider =
      clip.picture === 'half-equirect'
        ? []
        : [
            'The clip was corrected for fisheye pictures; this movie holds a half-sphere only, so edges may show that those do not have.',
          ];
    this.say(
      [
        `${source.name}: frame 0 is taken as the clip's first frame.`,
        ...misfits(clip, found, this.layout),
        ...wider,
      ].join(' '),
    );
  }

  private place(video: HTMLVideoElement): void {
    const clip = this.host.clip()!;
    this.removeDomes();
    const domes = movieDomes(video, this.layout, clip);
    this.onShow = { video, domes };
    this.host.scene.add(domes.domes);
    this.host.onShow(true);
    const wanted = this.host.frame();
    this.host.land(frameAt(clip, domes.refresh()));
    this.seek(clip, wanted);
  }

  private removeDomes(): void {
    if (!this.onShow) return;
    this.host.scene.remove(this.onShow.domes.domes);
    this.onShow.domes.dispose();
  }

  private close(): void {
    this.removeDomes();
    if (this.source) {
      this.source.video.pause();
      URL.revokeObjectURL(this.source.url);
    }
    this.source = this.onShow = this.asked = undefined;
    this.host.onShow(false);
  }
}
