// The phone's camera in a <video>: opened, its light switched, closed; and why it can't be had.

const WHY = {
  NotAllowedError: "The camera is not allowed for this page. Allow it in the browser's settings for this address, then load the page again. Until then type the code.",
  NoHttps: "The browser gives the camera only to pages with https. Open this page with https, or scan with the phone's own camera app: it opens the label's page too.",
  NoDecoder: "What reads the squares is not on this phone yet. Open this page once with a network; until then type the code.",
  NotFoundError: "No camera was found on this device. Type the code, or scan with a hand-held scanner.",
  NotReadableError: "Another app is using the camera. Close it, then start the camera again.",
};

export const whyNot = (error) =>
  WHY[error.name] ?? `The camera does not start (${error.name}). Type the code instead.`;

export class Camera {
  constructor(video) {
    this.video = video;
    this.stream = null;
  }

  // Throws what whyNot explains.
  async open() {
    if (!navigator.mediaDevices?.getUserMedia) throw Object.assign(new Error(), { name: "NoHttps" });
    this.stream = await navigator.mediaDevices.getUserMedia({
      audio: false,
      video: { facingMode: { ideal: "environment" }, width: { ideal: 1280 }, height: { ideal: 720 } },
    });
    this.video.srcObject = this.stream;
    await this.video.play();
  }

  get isOpen() {
    return Boolean(this.stream?.active);
  }

  get track() {
    return this.stream?.getVideoTracks()[0] ?? null;
  }

  get hasLight() {
    return Boolean(this.track?.getCapabilities?.().torch);
  }

  async light(on) {
    await this.track?.applyConstraints({ advanced: [{ torch: on }] });
  }

  close() {
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = null;
    this.video.srcObject = null;
  }
}
