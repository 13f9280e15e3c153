"use strict";
(function () {
  const button = document.getElementById("zoom");
  const place = document.getElementById("zoom-drawing");
  if (!button || !place || !("DecompressionStream" in window)) return;
  button.hidden = false;
  const read = (id) => document.getElementById(id).textContent;
  async function unpack() {
    const bytes = Uint8Array.from(atob(read("zoom-packed")), (sign) => sign.charCodeAt(0));
    const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
    return new Response(stream).text();
  }
  button.addEventListener("click", async () => {
    button.disabled = true;
    const script = document.createElement("script");
    script.textContent = await unpack();
    document.body.append(script);
    const figure = JSON.parse(read("zoom-data"));
    place.hidden = false;
    await window.Plotly.newPlot(place, figure.data, figure.layout, { displayModeBar: false, responsive: true });
    document.getElementById("zoom-hint").hidden = false;
    button.hidden = true;
  });
})();
