package owner

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"golang.org/x/term"

	"ampleway/energy"
)

// OnTerminal reports whether someone sits at in to answer.
func OnTerminal(in io.Reader) bool {
	file, ok := in.(*os.File)
	return ok && term.IsTerminal(int(file.Fd()))
}

// question is one figure to ask for.
type question struct {
	text     string
	optional bool // an empty answer leaves it unknown
	missing  func(*energy.OwnerFigures) bool
	take     func(*energy.OwnerFigures, float64)
}

func questions(rating energy.Rating, us bool) []question {
	if rating == "" {
		rating = energy.RatingUS
	}
	on := fmt.Sprintf(" on the %s rating", rating)
	rangeUnit, massUnit, kmPer, kgPer := "km", "kg", 1.0, 1.0
	consumption, per := "kWh/100 km", func(x float64) float64 { return x }
	if us {
		rangeUnit, massUnit, kmPer, kgPer = "miles", "lb", 1.609344, 0.45359237
		consumption, per = "kWh/100 mi", energy.KWhPer100kmFrom100Miles
	}
	return []question{
		{"usable battery energy, kWh", false,
			func(f *energy.OwnerFigures) bool { return f.UsableKWh == 0 },
			func(f *energy.OwnerFigures, x float64) { f.UsableKWh = x }},
		{"mass with the driver, " + massUnit, false,
			func(f *energy.OwnerFigures) bool { return f.MassKg == 0 && f.Like == nil },
			func(f *energy.OwnerFigures, x float64) { f.MassKg = x * kgPer }},
		{"rated range" + on + ", " + rangeUnit + " (empty if you know the consumption instead)", true,
			func(f *energy.OwnerFigures) bool { return f.RangeKm == 0 && f.OutletKWhPer100km == 0 },
			func(f *energy.OwnerFigures, x float64) { f.RangeKm = x * kmPer }},
		{"rated consumption" + on + ", " + consumption + " at the outlet", false,
			func(f *energy.OwnerFigures) bool { return f.RangeKm == 0 && f.OutletKWhPer100km == 0 },
			func(f *energy.OwnerFigures, x float64) { f.OutletKWhPer100km = per(x) }},
		{"peak DC charging power, kW (empty if unknown)", true,
			func(f *energy.OwnerFigures) bool { return f.PeakKW == 0 },
			func(f *energy.OwnerFigures, x float64) { f.PeakKW = x }},
		{"minutes from 10 to 80 % at a fast charger (empty if unknown)", true,
			func(f *energy.OwnerFigures) bool { return f.Minutes10to80 == 0 && f.PeakKW != 0 },
			func(f *energy.OwnerFigures, x float64) { f.Minutes10to80 = x }},
	}
}

// Ask asks for what is missing, line by line, and asks again after an answer
// that is no number above 0. The end of the input is an error.
func Ask(in io.Reader, out io.Writer, f *energy.OwnerFigures, us bool) error {
	lines := bufio.NewReader(in)
	if f.Name == "" {
		name, err := line(lines, out, "name of the car")
		if err != nil {
			return err
		}
		f.Name = name
	}
	for _, q := range questions(f.Rating, us) {
		if !q.missing(f) {
			continue
		}
		if err := q.ask(lines, out, f); err != nil {
			return err
		}
	}
	return nil
}

func (q *question) ask(in *bufio.Reader, out io.Writer, f *energy.OwnerFigures) error {
	for {
		text, err := line(in, out, q.text)
		if err != nil {
			return err
		}
		if text == "" && q.optional {
			return nil
		}
		x, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err == nil && x > 0 {
			q.take(f, x)
			return nil
		}
		fmt.Fprintf(out, "  %q is not a number above 0\n", text)
	}
}

func line(in *bufio.Reader, out io.Writer, question string) (string, error) {
	fmt.Fprintf(out, "%s: ", question)
	text, err := in.ReadString('\n')
	if errors.Is(err, io.EOF) {
		return "", fmt.Errorf("the answers ended before %q", question)
	}
	return strings.TrimSpace(text), err
}
