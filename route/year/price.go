package year

import (
	"slices"

	"ampleway/data/money"
)

// UseMedianFastPrice takes the median price of a kWh over the stations that
// have a fast charger and a known price of energy for that of ordinary days.
// Where no station has a price it is not known. The error is a *fault.Input
// where prices are in other currencies without a rate.
func (in *Inputs) UseMedianFastPrice() error {
	var prices []float64
	var others []string
	set := in.Index.Set()
	for i := range set.Len() {
		s := set.Site(i)
		if s.DCStalls() == 0 || s.Price == nil || !(s.Price.PerKWh > 0) {
			continue
		}
		if price, ok := in.Rates.Convert(money.Of(s.Price.PerKWh, s.Price.Currency), in.Tariff.Currency); ok {
			prices = append(prices, price.Float())
		} else if !slices.Contains(others, s.Price.Currency) {
			others = append(others, s.Price.Currency)
		}
	}
	switch {
	case len(prices) > 0:
		slices.Sort(prices)
		in.Fast.PerKWh = (prices[(len(prices)-1)/2] + prices[len(prices)/2]) / 2
		in.MedianPrice = true
		return nil
	case len(others) > 0:
		slices.Sort(others)
		return in.noRate(others)
	}
	in.Fast.Unpriced = true
	return nil
}
