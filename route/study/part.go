package study

import (
	"cmp"
	"fmt"
	"slices"

	"ampleway/data/fault"
)

// Part is one of Of shares of a study's corridors, counted from 0. The zero
// value is the whole.
type Part struct{ Index, Of int }

func (p Part) check() error {
	if p == (Part{}) || p.Of >= 1 && p.Index >= 0 && p.Index < p.Of {
		return nil
	}
	return &fault.Input{Field: "part", Found: fmt.Sprintf("%d of %d", p.Index, p.Of), Expected: "0 of n to n−1 of n"}
}

// corridors reports for each corridor whether it belongs to a part. The
// costliest is given away first, each to the part that has least; of equal
// ones the first.
func (p Part) corridors(sources []source) []bool {
	mine := make([]bool, len(sources))
	order := make([]int, len(sources))
	for i := range order {
		order[i] = i
		mine[i] = p.Of <= 1
	}
	if p.Of <= 1 {
		return mine
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(sources[b].cost, sources[a].cost) })
	loads := make([]float64, p.Of)
	for _, i := range order {
		least := 0
		for k := range loads {
			if loads[k] < loads[least] {
				least = k
			}
		}
		loads[least] += sources[i].cost + 1
		mine[i] = least == p.Index
	}
	return mine
}
