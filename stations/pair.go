package stations

import (
	"math"
	"math/bits"
	"slices"
)

// pair is a site (high half) that may be in reach of a piece (low half).
type pair uint64

func (p pair) site() int  { return int(p >> 32) }
func (p pair) piece() int { return int(p & math.MaxUint32) }

// sharePieces is how many pieces are worth a goroutine of their own.
const sharePieces = 64

// pair fills the strip's pairs, by site and then by piece.
func (x *Index) pair(s *strip) {
	parts := make([][]pair, cores(len(s.pieces), sharePieces))
	copy(parts, [][]pair{s.pairs[:0], s.spare[:0]})
	together(len(parts), func(k int) {
		from, to := len(s.pieces)*k/len(parts), len(s.pieces)*(k+1)/len(parts)
		parts[k] = x.reached(s, from, to, parts[k])
	})
	s.pairs = parts[0]
	for _, more := range parts[1:] {
		s.pairs = append(s.pairs, more...)
	}
	s.sortPairs(len(x.positions))
}

// reached appends the pairs of the pieces from one number to before another.
func (x *Index) reached(s *strip, from, to int, pairs []pair) []pair {
	for n := from; n < to; n++ {
		p := &s.pieces[n]
		x.search(p, func(lon, lat float32, site uint32) {
			if s.mayServe(p, float64(lon), float64(lat)) {
				pairs = append(pairs, pair(site)<<32|pair(n))
			}
		})
	}
	return pairs
}

const digitBits = 11

// sortPairs sorts pairs, which come by piece, by site and then by piece:
// digit by digit of the site from the least, each pass stable. Sites are
// numbered below a count.
func (s *strip) sortPairs(sites int) {
	s.spare = slices.Grow(s.spare[:0], len(s.pairs))[:len(s.pairs)]
	var starts [1 << digitBits]int32
	for shift := 32; shift < 32+bits.Len(uint(sites)); shift += digitBits {
		clear(starts[:])
		for _, p := range s.pairs {
			starts[p>>shift&(1<<digitBits-1)]++
		}
		sum := int32(0)
		for digit, n := range starts {
			starts[digit], sum = sum, sum+n
		}
		for _, p := range s.pairs {
			digit := p >> shift & (1<<digitBits - 1)
			s.spare[starts[digit]] = p
			starts[digit]++
		}
		s.pairs, s.spare = s.spare, s.pairs
	}
}
