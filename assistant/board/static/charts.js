// Draws the figures of a page from the specs that stand in it. Nothing is fetched; without it the tables remain.
"use strict";
{
  const NARROWEST = 460;
  const WIDEST = 860;
  const how = { actions: false, ast: true, defaultStyle: false, hover: false, renderer: "svg", tooltip: false };
  const places = [...document.querySelectorAll("[data-spec]")];
  const draw = (place) => {
    const spec = JSON.parse(place.dataset.spec);
    spec.width = Math.min(WIDEST, Math.max(NARROWEST, place.clientWidth));
    return window.vegaEmbed(place, spec, how);
  };
  const done = (drawn) => { document.documentElement.dataset.drawn = drawn; };
  if (window.vegaEmbed) {
    Promise.all(places.map(draw)).then(() => done("yes"), (error) => { done("no"); console.error(error); });
  } else {
    // The script that draws could not be had: no empty frames above the tables.
    places.forEach((place) => place.remove());
    done("no");
  }
}
