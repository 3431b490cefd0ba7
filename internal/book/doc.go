// Package book makes what goes with a pattern (TRADE of paper patterns, common practice): charts, cutting
// lists, labels, cautions, the order of sewing and the working drawings. All numbers are read off the made
// pattern, never typed in, so that paper and geometry can't disagree.
//
//	Chart, Finished    body and garment, a column a size
//	Cutting, ByCloth   what is cut, how often and from which cloth: as one table, and by cloth
//	Label              the lines on a piece
//	Notes              allowances, printing and the cautions
//	Sewing             the order of sewing of one size: seams.go tells what the block sews, setin.go its sleeves,
//	                   and the steps of the changes stand among them
//	Companion          all of that as pages: flow.go and table.go set words, cutting.go shows the pieces,
//	                   drawing.go draws by hand what a change did, place.go finds room for its numbers
//	Mm, Both           a length as words: "12.7 mm", "12.7 mm (1/2 in)"; plain.go puts names and lengths of
//	                   others' sentences into the reader's words
package book
