"""A camera in a test: a film of labels this tool printed, which Chromium takes for what the camera sees."""

import io
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pypdfium2
from PIL import Image, ImageFilter

SIZE = (640, 480)
FRAMES_A_SECOND = 10


def picture_of_label(pdf: bytes, page: int = 0) -> Image.Image:
    """A page of a PDF of single labels, as large as the camera would see it from a hand's width."""
    label = pypdfium2.PdfDocument(io.BytesIO(pdf))[page].render(scale=300 / 72).to_pil().convert("RGB")
    label.thumbnail((SIZE[0] - 60, SIZE[1] - 60))
    frame = Image.new("RGB", SIZE, (118, 96, 70))
    frame.paste(label, ((SIZE[0] - label.width) // 2, (SIZE[1] - label.height) // 2))
    return frame.rotate(4, fillcolor=(118, 96, 70)).filter(ImageFilter.GaussianBlur(0.6))


def film(pictures: Sequence[Image.Image], folder: Path, *, seconds_each: float) -> Path:
    """An MJPEG of the pictures, one after the other; Chromium begins it anew at its end."""
    for number, picture in enumerate(pictures):
        picture.save(folder / f"frame-{number:03}.png")
    made = folder / "camera.mjpeg"
    taking = ["-framerate", f"{1 / seconds_each}", "-i", str(folder / "frame-%03d.png")]
    giving = ["-r", str(FRAMES_A_SECOND), "-pix_fmt", "yuvj420p", "-c:v", "mjpeg", "-q:v", "3", str(made)]
    subprocess.run(["ffmpeg", "-loglevel", "error", "-y", *taking, *giving], check=True)
    return made


def arguments(film_of: Path) -> list[str]:
    """What Chromium is started with so that it sees the film and asks nobody."""
    return [
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={film_of}",
    ]
