package fit

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"ampleway/data/fault"
)

// Sample is one row of a log. NaN is "not recorded".
type Sample struct {
	TimeS      float64
	SpeedMS    float64
	ElevationM float64
	PowerKW    float64 // out of the battery; negative while it charges
	SoC        float64 // 0..1
	HeatKW     float64
	CoolKW     float64
	AmbientC   float64
	PackTempC  float64
}

// Log is one recording: one drive, or one charge.
type Log struct {
	Name     string
	Samples  []Sample // rising time
	Warnings []string // what was dropped or not believed, and why
}

// LogOptions say how a log is to be read. The zero value is right for a log
// as the package comment describes it.
type LogOptions struct {
	DischargePositive bool // current and power are positive while discharging
}

// longest log: a week at 10 Hz.
const mostRows = 6_048_000

// ReadLog reads a log from CSV (RFC 4180) with a header; the package comment
// lists the columns. A blank cell is "not recorded"; a figure that no car can
// have counts as not recorded and is told in the warnings. Rows may come in
// any number per second; a row whose time does not rise is dropped.
//
// The error is a *fault.Input that names the row and the column.
func ReadLog(r io.Reader, name string, opt LogOptions) (*Log, error) {
	in := &reader{csv: csv.NewReader(r), log: &Log{Name: name}, sign: -1}
	in.csv.ReuseRecord = true
	if opt.DischargePositive {
		in.sign = 1
	}
	if err := in.header(); err != nil {
		return nil, err
	}
	for {
		row, err := in.csv.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, fault.CSV(in.log.Name, err)
		}
		if err := in.row(row); err != nil {
			return nil, err
		}
		if len(in.log.Samples) > mostRows {
			return nil, &fault.Input{File: name, Expected: fmt.Sprintf("at most %d rows", mostRows)}
		}
	}
	in.warn()
	return in.log, nil
}

// ReadFiles reads one log a file.
func ReadFiles(paths []string, opt LogOptions) ([]*Log, error) {
	var logs []*Log
	for _, path := range paths {
		l, err := readFile(path, opt)
		if err != nil {
			return nil, err
		}
		logs = append(logs, l)
	}
	return logs, nil
}

func readFile(path string, opt LogOptions) (*Log, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, &fault.Input{File: path, Expected: "a log that can be read", Err: err}
	}
	defer f.Close()
	log, err := ReadLog(f, filepath.Base(path), opt)
	var input *fault.Input
	if errors.As(err, &input) {
		input.File = path
	}
	return log, err
}

type reader struct {
	csv      *csv.Reader
	log      *Log
	sign     float64
	at       [channels]int // field of each channel, −1 when absent
	units    [channels]unit
	headers  [channels]string
	outliers [channels]int
	noTime   int // rows dropped
}

func (in *reader) header() error {
	head, err := in.csv.Read()
	if err != nil {
		return fault.CSV(in.log.Name, err)
	}
	for c := range in.at {
		in.at[c] = -1
	}
	for i, h := range head {
		h = strings.TrimPrefix(h, "\ufeff")
		if c, u, ok := match(h); ok && in.at[c] < 0 {
			in.at[c], in.units[c], in.headers[c] = i, u, h
		}
	}
	if in.at[chTime] < 0 {
		return &fault.Input{File: in.log.Name, Where: "line 1", Found: strings.Join(head, ","), Expected: "a column time_s"}
	}
	return nil
}

func (in *reader) row(row []string) error {
	var v [channels]float64
	for c := range channels {
		x, err := in.cell(row, c)
		if err != nil {
			return err
		}
		v[c] = x
	}
	s := in.log.Samples
	if math.IsNaN(v[chTime]) || len(s) > 0 && v[chTime] <= s[len(s)-1].TimeS {
		in.noTime++
		return nil
	}
	power := v[chPower]
	if math.IsNaN(power) {
		power = v[chVolts] * v[chAmps] / 1000
	}
	in.log.Samples = append(s, Sample{
		TimeS: v[chTime], SpeedMS: max(v[chSpeed], 0), ElevationM: v[chElevation], PowerKW: in.sign * power,
		SoC: v[chSoC], HeatKW: max(v[chHeat], 0), CoolKW: max(v[chCool], 0), AmbientC: v[chAmbient], PackTempC: v[chPackTemp],
	})
	return nil
}

func (in *reader) cell(row []string, c channel) (float64, error) {
	i := in.at[c]
	if i < 0 {
		return math.NaN(), nil
	}
	text := strings.TrimSpace(row[i])
	switch strings.ToLower(text) {
	case "", "nan", "null", "n/a":
		return math.NaN(), nil
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		line, _ := in.csv.FieldPos(i)
		return 0, &fault.Input{File: in.log.Name, Where: "line " + strconv.Itoa(line), Field: in.headers[c], Found: text, Expected: "a number or nothing"}
	}
	x = x*in.units[c].factor + in.units[c].offset
	if !(x >= columns[c].low && x <= columns[c].high) {
		in.outliers[c]++
		return math.NaN(), nil
	}
	return x, nil
}

func (in *reader) warn() {
	if in.noTime > 0 {
		in.log.warn("%d rows without a rising time were dropped", in.noTime)
	}
	for c, n := range in.outliers {
		if n > 0 {
			in.log.warn("%d figures of %s that no car can have count as not recorded", n, in.headers[c])
		}
	}
}

func (l *Log) warn(format string, args ...any) {
	l.Warnings = append(l.Warnings, l.Name+": "+fmt.Sprintf(format, args...))
}
