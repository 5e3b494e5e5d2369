// Makes a chosen picture small before it is sent, so that it goes out where signal is poor. Without this script the form sends the file as it is.
(() => {
  const LONG = 1600;
  const small = async (file) => {
    if (!file.type.startsWith("image/")) return file;
    const bitmap = await createImageBitmap(file, { imageOrientation: "from-image" });
    const k = Math.min(1, LONG / Math.max(bitmap.width, bitmap.height));
    if (k === 1 && file.type === "image/jpeg" && file.size < 700000) return file;
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(bitmap.width * k));
    canvas.height = Math.max(1, Math.round(bitmap.height * k));
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.imageSmoothingQuality = "high";
    pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
    bitmap.close();
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
    return blob ? new File([blob], "photo.jpg", { type: "image/jpeg" }) : file;
  };
  for (const form of document.querySelectorAll("form[data-photo]")) {
    let work = Promise.resolve();
    let waiting = 0;
    for (const input of form.querySelectorAll("input[type=file]")) {
      input.addEventListener("change", () => {
        if (!input.files.length) return;
        const file = input.files[0];
        waiting++;
        work = work.then(async () => {
          try {
            const list = new DataTransfer();
            list.items.add(await small(file));
            if (input.files[0] === file) input.files = list.files;
          } catch {
            // Sent as it is; the other end says what it cannot read.
          }
          waiting--;
        });
      });
    }
    form.addEventListener("submit", (e) => {
      if (!waiting) return;
      e.preventDefault();
      const by = e.submitter;
      work.then(() => form.requestSubmit(by));
    });
  }
})();
