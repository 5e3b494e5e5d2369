// Package photo makes a picture from a camera or a file fit to be kept: whole, upright, of a bounded size, and
// without what it says about where it was taken.
//
// JPEG, PNG, GIF and WebP come in, JPEG goes out: every page and every PDF shows it. A JPEG that is small enough and
// stands upright loses its metadata without being compressed again; any other is turned as its Exif orientation says
// (JPEG only), scaled down and compressed. Metadata (Exif with position and serial numbers, comments, colour
// profiles, embedded previews) never goes out: only what is needed to draw the picture is copied. Colours are taken
// as sRGB, so a picture of a wide colour space looks a little paler.
//
// A header is read before anything is opened: a picture that would take too much memory is refused. It reads no files and knows no visits.
//
// References: ITU-T T.81 (1992) for JPEG markers; Exif 2.3 (CIPA DC-008-2012) section 4.6 for the orientation.
package photo
