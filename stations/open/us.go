package open

import (
	"ampleway/stations"
)

// DefaultAssumedKW is the power that a connector of the United States table
// counts with, because the table has none. The figures are on the low side of
// what stands beside roads, and every one is marked Assumed. Common practice,
// no source, but for level 1 and 2: NEC 625.42 at 208 V and 120 V (32 A, 12 A).
func DefaultAssumedKW() map[stations.ConnectorType]float64 {
	return map[stations.ConnectorType]float64{
		stations.CCS1:    50,
		stations.CHAdeMO: 50,
		stations.J3400:   50,
		stations.J1772:   6.6,
		"NEMA 5-20":      1.9,
		"NEMA 14-50":     9.6,
	}
}
