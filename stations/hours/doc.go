// Package hours reads OpenStreetMap opening_hours expressions and says, for a
// place's local time, whether it is open, closed or unknown.
//
//	s, err := hours.Parse("Mo-Fr 07:00-22:00; Sa,Su,PH 09:00-20:00")
//	state := s.At(time.Now().In(zone))
//
// What cannot be read is never open: Parse then returns an error together with
// a Schedule that is Unknown at every time.
//
// # What is understood
//
// The grammar is the one of the OpenStreetMap wiki page
// Key:opening_hours/specification, as far as it occurs in practice: 24/7;
// weekdays, their ranges and lists, the nth of a month (Su[1], Fr[-1]) and day
// offsets; PH and SH; months, dates, date ranges and easter; years; ISO weeks;
// several time ranges a day, ranges past midnight (22:00-02:00, 20:00-26:00)
// and open ends (17:00+); the modifiers open, closed, off, unknown and a
// comment; rules joined by ";", "," and "||". English names of days and months
// written out, am and pm, dashes other than the hyphen, and "08.00" are
// mended.
//
// # How rules combine
//
// On each date the rules are taken in order. A rule after ";" that says open
// or unknown and names dates replaces the rules before it on those dates; one
// that says closed, or that names no date, is laid over them. A rule after ","
// adds to them. A rule after "||", and one after "," behind it, counts only
// where the rules before leave the place closed. The part of a range past midnight belongs to the next date and stays
// unless a later rule replaces that date. Comments without "open" mean
// unknown. The time after an open end is unknown for 8 hours (after 22:00), 10
// hours (after 17:00) or else until midnight. Sunrise, sunset, dawn and dusk
// are not computed: a range with one of them is unknown from its earliest to
// its latest possible time.
//
// # Holidays
//
// PH and SH need a Calendar. Without one every day counts as an ordinary day.
package hours
