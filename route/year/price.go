package year

import (
	"slices"

	"ampleway/stations"
)

// MedianFastPrice returns the median price of a kWh over the sites that have a
// fast charger and a known price of energy in a currency; false where there is
// none.
func MedianFastPrice(set stations.Set, currency string) (perKWh float64, ok bool) {
	var prices []float64
	for i := range set.Len() {
		s := set.Site(i)
		if s.DCStalls() > 0 && s.Price != nil && s.Price.Currency == currency && s.Price.PerKWh > 0 {
			prices = append(prices, s.Price.PerKWh)
		}
	}
	if len(prices) == 0 {
		return 0, false
	}
	slices.Sort(prices)
	return (prices[(len(prices)-1)/2] + prices[len(prices)/2]) / 2, true
}
