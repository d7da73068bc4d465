package energy

const kWhPerGallonOfGasoline = 33.705 // 40 CFR 600.002

// KWhPer100kmFrom100Miles turns kWh per 100 miles into kWh per 100 km. The
// mile is exact (1,609.344 m).
func KWhPer100kmFrom100Miles(kWhPer100mi float64) float64 {
	return kWhPer100mi * 1000 / metrePerMile
}

// KWhPer100MilesFrom100km is the inverse of KWhPer100kmFrom100Miles.
func KWhPer100MilesFrom100km(kWhPer100km float64) float64 {
	return kWhPer100km * metrePerMile / 1000
}

// KWhPer100kmFromMPGe turns miles per gallon of gasoline equivalent (33.705
// kWh, 40 CFR 600.002) into kWh per 100 km.
func KWhPer100kmFromMPGe(mpge float64) float64 {
	return KWhPer100kmFrom100Miles(100 * kWhPerGallonOfGasoline / mpge)
}

// MPGeFromKWhPer100km is the inverse of KWhPer100kmFromMPGe.
func MPGeFromKWhPer100km(kWhPer100km float64) float64 {
	return 100 * kWhPerGallonOfGasoline / KWhPer100MilesFrom100km(kWhPer100km)
}

// MilesPerKWh turns kWh per 100 km into miles per kWh.
func MilesPerKWh(kWhPer100km float64) float64 {
	return 100 / KWhPer100MilesFrom100km(kWhPer100km)
}

// FahrenheitFromC turns °C into °F.
func FahrenheitFromC(tempC float64) float64 { return tempC*9/5 + 32 }

// CFromFahrenheit is the inverse of FahrenheitFromC.
func CFromFahrenheit(tempF float64) float64 { return (tempF - 32) * 5 / 9 }
