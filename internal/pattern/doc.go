// Package pattern holds the values of the trade: what a shop trusts (Block), what it sells
// (Style) and what both become for one size (Pattern).
//
//	Block    base-size pieces, points and how each moves over the size chart
//	Style    a Block's name, the changes in order, the allowances
//	Pattern  one size: pieces as closed outlines of named edges, marks, and the seams between pieces
//
// A Pattern is the common tongue of grade, change, allowance, inspect and lay. Everything in it is
// in millimetres on the seam line. Outlines run counter-clockwise, x to the right and y up along
// the grain, as seen from the right side of the cloth.
//
// Values only: Validate says what rule is broken and where; reading and writing live in document.
package pattern
