// Package grade makes a block into a Pattern per size, or into one for a customer's body.
//
//	plan    what of a piece does not depend on the size: nodes round the outline, who follows whom
//	moves   how far every node goes in one size: shares of the chart, plain steps
//	redraw  the curves between moved nodes, their character kept
//	field   where inner places go: in proportion to all corners at once
//
// How a piece grows. A node is a corner, an inner knot of a curve, or a place on an edge that has
// a rule. A node with a rule moves by it. A node without one follows its two neighbours that have
// one, in proportion to the way along the outline. With no rule at all a piece stays as it is; a
// corner that shall stay has an empty rule.
//
// How a curve keeps its character. Its handles grow with the box that its ends span, each axis by
// itself, so that what was level or upright stays so. Then, node by node, both handles are turned
// by one angle:
//   - beside a straight edge, by as much as that edge turned: square to the fold stays square, and
//     angles that add up to 180 degrees across a sewn seam still do;
//   - between two curves of which one runs level or upright there, not at all: the crown stays level;
//   - between two other curves, by the mean of what their growth would turn each: whatever angle
//     they met at, smooth or not, they still meet at.
//
// Positions of nodes are linear in the growth of the body; handles are as far as nothing turns.
//
// A block that is drafted from measurements is drawn anew in each size, by draft; nothing is moved.
//
// Plain steps and digitised drawings know the sizes of the run only. A customer's body needs
// shares.
package grade
