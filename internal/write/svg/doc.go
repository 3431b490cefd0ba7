// Package svg writes one page of a sheet as an inline SVG (SVG 1.1, which SVG 2 reads) at true size: its width and
// height are in mm, and one unit of its own coordinates is one mm.
//
//	svg class="sizerun"         title: the document's; desc: what made it
//	  g class="ground"          layers that lie behind everything
//	  g class="layer"           one per layer, in order, data-layer: its name, as in a PDF's list of layers
//	    g class="piece"         data-piece: the piece's name
//	      path class="cut"      cut, seam, inner, notch, dot, square (sheet.Kind)
//	  g class="common"          what stands once for all sizes: grain, fold, labels
//
// What is written can stand inside a page of anybody's: it has no ids, no styles, no links and no script, only
// presentation attributes, and every text is escaped. y runs downwards here, as in all SVG; nothing is transformed but
// turned words, so coordinates can be read as they stand.
//
// Equal documents give equal bytes.
package svg
