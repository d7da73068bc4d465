package energy

import "math/bits"

// extremes answers the lowest and the highest value between two places of a
// series: a sparse table over blocks, and the values themselves in the blocks
// at the ends.
type extremes struct {
	values []float64
	low    [][]float64 // low[k][b]: lowest of blocks b … b+2ᵏ−1
	high   [][]float64
}

const extremesBlock = 32

func newExtremes(values []float64) extremes {
	blocks := (len(values) + extremesBlock - 1) / extremesBlock
	e := extremes{values: values}
	low, high := make([]float64, blocks), make([]float64, blocks)
	for b := range blocks {
		low[b], high[b] = span(values[b*extremesBlock : min((b+1)*extremesBlock, len(values))])
	}
	for width := 1; ; width *= 2 {
		e.low, e.high = append(e.low, low), append(e.high, high)
		n := len(low) - width
		if n <= 0 {
			return e
		}
		nextLow, nextHigh := make([]float64, n), make([]float64, n)
		for b := range n {
			nextLow[b] = min(low[b], low[b+width])
			nextHigh[b] = max(high[b], high[b+width])
		}
		low, high = nextLow, nextHigh
	}
}

// between returns the extremes of values[from:to], from < to, in time that
// does not depend on how far apart they are.
func (e *extremes) between(from, to int) (low, high float64) {
	first, last := from/extremesBlock+1, to/extremesBlock
	if first >= last {
		return span(e.values[from:to])
	}
	low, high = span(e.values[from : first*extremesBlock])
	if tail := e.values[last*extremesBlock : to]; len(tail) > 0 {
		l, h := span(tail)
		low, high = min(low, l), max(high, h)
	}
	k := bits.Len(uint(last-first)) - 1
	other := last - 1<<k
	low = min(low, e.low[k][first], e.low[k][other])
	high = max(high, e.high[k][first], e.high[k][other])
	return low, high
}

func span(values []float64) (low, high float64) {
	low, high = values[0], values[0]
	for _, v := range values[1:] {
		low, high = min(low, v), max(high, v)
	}
	return low, high
}
