package open

import (
	"regexp"
	"strings"
	"unicode"

	"ampleway/stations"
)

// mostPhone is the longest text that is taken for telephone numbers, of which
// there may be two in one field.
const mostPhone = 80

// exponent is a number of so many digits that a spreadsheet has cut some off.
var exponent = regexp.MustCompile(`^\d[.,]?\d*[eE]\+?\d+$`)

// telephone frees a site's telephone number from needless spaces, the scheme of
// RFC 3966 and the apostrophe that keeps a cell from being a formula. Digits and
// signs stay as the source has them; what cannot be a number is left out.
func (c *collector) telephone(s *stations.Site, where at) {
	if s.Phone == "" {
		return
	}
	text := strings.Join(strings.Fields(strings.TrimPrefix(strings.TrimPrefix(strings.TrimSpace(s.Phone), "'"), "tel:")), " ")
	if text != "" && !isPhone(text) {
		c.suspect(where, "phone", s.Phone, "not a telephone number: left out")
		text = ""
	}
	s.Phone = c.word(text)
}

func isPhone(text string) bool {
	const leastDigits = 3 // of a short number
	digits := 0
	for _, r := range text {
		if !unicode.IsPrint(r) {
			return false
		}
		if r >= '0' && r <= '9' {
			digits++
		}
	}
	return digits >= leastDigits && len(text) <= mostPhone && !exponent.MatchString(text)
}
