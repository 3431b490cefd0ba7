// Package pdf turns a sheet.Document into a PDF file at true size, the same bytes every time.
//
// A printed pattern is one drawing shown through many windows: each size of a nest is drawn once as
// a Form XObject, and a tile of paper is little more than a clip, a move and a call of that form.
// General PDF libraries redraw the whole nest for every tile, so the serialisation here is our own;
// fonts and the drawing types come from tdewolff/canvas, which no other package imports.
//
//	Write        check the document, write every object, hash, finish   (write.go)
//	check        every refusal, as faults with a pointer                 (check.go)
//	content      one content stream; a canvas.Renderer                   (content.go, number.go)
//	Fonts, Pool  the house family: measuring, shaping, memo              (fonts.go)
//	subset       what a font becomes inside the file                     (subset.go)
//	file         objects, streams, strings, cross-reference              (file.go)
//	catalogue    layers, page labels, metadata                           (catalog.go)
//
// Conventions:
//   - Content is written in millimetres under one matrix per page, 72/25.4. A number has five
//     decimals, so that no coordinate is off by more than 0.005 µm and a length by 0.01 µm.
//   - A page never has a UserUnit (several readers ignore it, which prints at a wrong scale) and is
//     never larger than 14,400 pt, the largest page that all readers accept.
//   - Layers are marked in content (/OC … BDC), never in a form's dictionary: some readers ignore
//     it there.
//   - There is no clock: no dates in the file, and /ID is a hash of all that comes before it.
//
// References: ISO 32000-1:2008 (PDF 1.7), of which 8.11 optional content, 9.7 composite fonts,
// 12.4.2 page labels, 14.3 metadata; OpenType 1.9, "head" and "loca" tables.
package pdf
