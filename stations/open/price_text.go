package open

import (
	"regexp"
	"strconv"
	"strings"

	"ampleway/stations"
)

// The forms of price that are read, each for one part of the text between ";",
// "+" and the end. Anything else leaves the price unknown.
var (
	perKWh     = regexp.MustCompile(`^(?:\$|€)?(\d+(?:[.,]\d+)?) ?(€|cts?|eur)? ?(?:per|/) ?kwh$`)
	perMinute  = regexp.MustCompile(`^(?:\$|€)?(\d+(?:[.,]\d+)?) ?(€|cts?|eur)? ?(?:per|/) ?min(?:ute)?$`)
	perHour    = regexp.MustCompile(`^(?:\$|€)?(\d+(?:[.,]\d+)?) ?(€|cts?|eur)? ?(?:per|/) ?h(?:ou)?r?$`)
	perSession = regexp.MustCompile(`^(?:\$|€)?(\d+(?:[.,]\d+)?) ?(€|cts?|eur)? ?(?:per|/) ?session$`)
	idle       = regexp.MustCompile(`^idle (?:fee is|parking time is charged at) \$(\d+(?:\.\d+)?) per minute after a (\d+) minute grace period$`)
)

// priceOf reads the simplest words on price, such as "$0.50 per session +
// $0.45 per kWh", "0.40€ / kwh", "Free"; nil where any part is not one of them.
func priceOf(words, currency string) *stations.Price {
	words = strings.ToLower(strings.TrimSpace(words))
	if words == "" {
		return nil
	}
	p := stations.Price{Currency: currency}
	if words == "free" {
		return &p
	}
	for _, part := range strings.FieldsFunc(words, func(r rune) bool { return r == ';' || r == '+' }) {
		if !pricePart(&p, strings.TrimSpace(part)) {
			return nil
		}
	}
	return &p
}

func pricePart(p *stations.Price, part string) bool {
	if m := idle.FindStringSubmatch(part); m != nil {
		p.IdlePerMinute, _ = strconv.ParseFloat(m[1], 64)
		p.IdleAfterMinutes, _ = strconv.ParseFloat(m[2], 64)
		return true
	}
	for _, form := range []struct {
		is    *regexp.Regexp
		to    *float64
		scale float64
	}{{perKWh, &p.PerKWh, 1}, {perMinute, &p.PerMinute, 1}, {perHour, &p.PerMinute, 1.0 / 60}, {perSession, &p.SessionFee, 1}} {
		m := form.is.FindStringSubmatch(part)
		if m == nil {
			continue
		}
		v, err := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
		if err != nil || *form.to != 0 {
			return false
		}
		if strings.HasPrefix(m[2], "ct") {
			v /= 100
		}
		*form.to = v * form.scale
		return true
	}
	return false
}
