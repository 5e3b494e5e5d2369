// Package plot holds drawings as scenes: lines, paths, rectangles, circles, text and links with classes instead of
// colours, and writes one scene as SVG for a page and as vector drawing in a PDF, so that the two cannot disagree.
//
// A scene has its own units (one is one CSS pixel at full size), x to the right, y down. Meaning is carried by shape,
// fill and hatching; a class only repeats it. The SVG holds no style and no script: presentation attributes and the
// class names of the style sheet. The PDF draws black first: the same classes map to near-black inks and white, and
// hatching is drawn as lines.
//
// It knows nothing of refrigeration, computes no value that is shown, and does not lay out text beyond an estimate of its width.
//
// References: Scalable Vector Graphics (SVG) 1.1, W3C; arcs by their Bézier approximation (quarter circle, constant
// 4/3·(√2−1)), a standard identity.
package plot
