// Package document is the wire form of the trade's values: blocks, styles, runs and checks as JSON.
//
//	bytes → reader (strict JSON, bounded) → tree → decoder (names, units, bounds) → value → Validate
//	value → encoder (fixed order, millimetres) → bytes
//
// Decoding is strict, because a document is often written by a program that nobody looks over: a
// name twice (also in another case), an unknown name, trailing data, a number that is none, text
// that is not Unicode are refused. All faults that can be told at once are told at once; each has
// a JSON pointer (RFC 6901), the valid range and a remedy.
//
// Lengths: a bare number is in the document's unit (mm when it names none), a string carries its
// own. Values are millimetres from here on inwards.
//
// Documents that hold the same values encode to the same bytes: members in fixed order,
// millimetres rounded to 0.001, names sorted where order has no meaning.
package document
