package energy

// KWhPer100kmFrom100Miles turns kWh per 100 miles into kWh per 100 km. The
// mile is exact (1,609.344 m).
func KWhPer100kmFrom100Miles(kWhPer100mi float64) float64 {
	return kWhPer100mi * 1000 / metrePerMile
}

// KWhPer100MilesFrom100km is the inverse of KWhPer100kmFrom100Miles.
func KWhPer100MilesFrom100km(kWhPer100km float64) float64 {
	return kWhPer100km * metrePerMile / 1000
}
