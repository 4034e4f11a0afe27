// Reads codes in a picture: the phone's own detector where it has one, else the decoder that comes along.

const middle = (points) => ({
  x: points.reduce((sum, point) => sum + point.x, 0) / points.length,
  y: points.reduce((sum, point) => sum + point.y, 0) / points.length,
});

const load = (address) =>
  new Promise((done, failed) => {
    const script = document.createElement("script");
    script.src = address;
    script.onload = done;
    script.onerror = failed;
    document.head.append(script);
  });

const ownDetector = async () => {
  if (!("BarcodeDetector" in window)) return null;
  const formats = await window.BarcodeDetector.getSupportedFormats().catch(() => []);
  if (!formats.includes("qr_code")) return null;
  const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
  return async (canvas) =>
    (await detector.detect(canvas)).map((found) => ({ text: found.rawValue, at: middle(found.cornerPoints) }));
};

const decoder = async (scriptAddress, wasmAddress) => {
  if (!window.ZXingWASM) await load(scriptAddress);
  await window.ZXingWASM.prepareZXingModule({
    overrides: { locateFile: () => wasmAddress },
    fireImmediately: true,
  });
  const options = { formats: ["QRCode"], tryHarder: true, maxNumberOfSymbols: 6 };
  return async (canvas, context) => {
    const picture = context.getImageData(0, 0, canvas.width, canvas.height);
    const found = await window.ZXingWASM.readBarcodes(picture, options);
    return found
      .filter((one) => one.isValid)
      .map(({ text, position: p }) => ({ text, at: middle([p.topLeft, p.topRight, p.bottomLeft, p.bottomRight]) }));
  };
};

// A function of a canvas and its context: the text of the code nearest to the middle, or null.
export const makeReader = async (scriptAddress, wasmAddress) => {
  const codesIn = (await ownDetector()) ?? (await decoder(scriptAddress, wasmAddress).catch(() => {
    throw Object.assign(new Error(), { name: "NoDecoder" });
  }));
  return async (canvas, context) => {
    const away = ({ at }) => Math.hypot(at.x - canvas.width / 2, at.y - canvas.height / 2);
    const found = await codesIn(canvas, context);
    return found.sort((one, other) => away(one) - away(other))[0]?.text ?? null;
  };
};
