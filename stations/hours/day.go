package hours

import "time"

const (
	dayMinutes = 24 * 60
	daySeconds = 86400
)

// day is a date of the proleptic Gregorian calendar.
type day struct {
	n       int // days since 1970-01-01
	year    int
	month   time.Month
	date    int
	weekday int // Sunday = 0
}

func dayOf(t time.Time) day { return newDay(t.Date()) }

func newDay(y int, m time.Month, d int) day {
	t := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	y, m, d = t.Date()
	return day{int(t.Unix() / daySeconds), y, m, d, int(t.Weekday())}
}

func (d day) add(days int) day {
	if days == 0 {
		return d
	}
	return newDay(d.year, d.month, d.date+days)
}

// clock returns the time at a minute of the day in a zone.
func (d day) clock(minute int, zone *time.Location) time.Time {
	return time.Date(d.year, d.month, d.date, 0, minute, 0, 0, zone)
}

func (d day) week() int {
	_, w := time.Date(d.year, d.month, d.date, 0, 0, 0, 0, time.UTC).ISOWeek()
	return w
}

// monthDays is the number of days in a month.
func monthDays(y int, m time.Month) int { return newDay(y, m+1, 0).date }

// easter returns Easter Sunday of a year by the anonymous Gregorian algorithm
// (Meeus, Astronomical Algorithms, chapter 8).
func easter(y int) day {
	a, b, c := y%19, y/100, y%100
	d, e := b/4, b%4
	f := (b + 8) / 25
	g := (b - f + 1) / 3
	h := (19*a + b - d - g + 15) % 30
	i, k := c/4, c%4
	l := (32 + 2*e + 2*i - h - k) % 7
	m := (a + 11*h + 22*l) / 451
	n := h + l - 7*m + 114
	return newDay(y, time.Month(n/31), n%31+1)
}

// nthWeekday returns the nth such weekday of a month, from its end where n is
// negative.
func nthWeekday(y int, m time.Month, weekday, n int) day {
	if n > 0 {
		first := newDay(y, m, 1)
		return first.add((weekday-first.weekday+7)%7 + 7*(n-1))
	}
	last := newDay(y, m, monthDays(y, m))
	return last.add(-((last.weekday-weekday+7)%7 + 7*(-n-1)))
}
