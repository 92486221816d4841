// Draws the figures of a page from the specs that stand in it. Nothing is fetched; without it the tables remain.
"use strict";
{
  const NARROWEST = 460;
  const WIDEST = 860;
  const how = { actions: false, ast: true, defaultStyle: false, hover: false, renderer: "svg", tooltip: false };
  const drawn = [...document.querySelectorAll("[data-spec]")].map((place) => {
    const spec = JSON.parse(place.dataset.spec);
    spec.width = Math.min(WIDEST, Math.max(NARROWEST, place.clientWidth));
    return window.vegaEmbed(place, spec, how);
  });
  Promise.all(drawn).then(
    () => { document.documentElement.dataset.drawn = "yes"; },
    (error) => { document.documentElement.dataset.drawn = "no"; console.error(error); },
  );
}
