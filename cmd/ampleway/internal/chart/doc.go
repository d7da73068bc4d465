// Package chart draws pictures as SVG: the battery along the road, the charge
// at a stop, the road on a map, a year's months, and plain lines. It knows
// numbers and labels only; whoever calls it knows trips and cars.
//
// Every drawing carries a title and a description for those who do not see it,
// is told apart by shape and pattern before colour, so that it survives a
// black-and-white printer, and takes its colours from the style sheet CSS. The
// same input gives the same bytes.
package chart
