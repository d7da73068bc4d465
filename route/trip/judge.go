package trip

import (
	"fmt"

	"ampleway/data/fault"
	"ampleway/route"
)

// What a road may be at most to be planned on; what takes longer than a person
// waits follows from these. A piece is the straight line between two points.
const (
	mostLengthM     = 12_000e3
	mostPieceM      = 1000e3
	mostPoints      = 500_000
	mostHalfWidthKM = 50
)

// judge refuses a road for its size before it is worked on.
func judge(r *route.Route) error {
	bad := func(found, expected string) error {
		return &fault.Input{File: r.Name, Field: "route", Found: found, Expected: expected}
	}
	if r.Len() > mostPoints {
		return bad(fmt.Sprintf("%d points", r.Len()), fmt.Sprintf("at most %d points; a point every few metres is enough", mostPoints))
	}
	if r.LengthM() > mostLengthM {
		return bad(fmt.Sprintf("%.0f km", r.LengthM()/1000), fmt.Sprintf("a drive of at most %.0f km", mostLengthM/1000))
	}
	at := r.Chainages()
	for i := 1; i < len(at); i++ {
		if pieceM := at[i] - at[i-1]; pieceM > mostPieceM {
			return bad(fmt.Sprintf("%.0f km without a point between them, from km %.0f on", pieceM/1000, at[i-1]/1000), fmt.Sprintf("a road, with points no more than %.0f km apart", mostPieceM/1000))
		}
	}
	return nil
}
