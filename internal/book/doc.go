// Package book makes what goes with a pattern (TRADE of paper patterns, common practice): the size
// chart, the cutting list, a piece's label, the notes and cautions on page 1. All numbers are read
// off the made pattern, never typed in, so that paper and geometry can't disagree.
//
//	Chart     body measurements of the sizes made
//	Cutting   what is cut, how often and from which cloth
//	Label     the lines on a piece
//	Notes     allowances, printing and the cautions
//	Sewing    the order of sewing, with the amounts of one size
//	Companion all of that, and a working drawing per change, as pages
//	Mm, Both  a length as words: "12.7 mm", "12.7 mm (1/2 in)"
package book
