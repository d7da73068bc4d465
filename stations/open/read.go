package open

import (
	"bufio"
	"errors"
	"io"

	"ampleway/data/fault"
	"ampleway/stations"
)

// Format is a published form of station data.
type Format string

// The formats. The zero value is found from the content.
const (
	Detect     Format = ""
	OwnCSV     Format = "csv"
	OwnGeoJSON Format = "geojson"
	OCPI       Format = "ocpi"
	OSMGeoJSON Format = "osm-geojson"
	OSMJSON    Format = "osm-json"
	OSMXML     Format = "osm-xml"
	OSMPBF     Format = "osm-pbf"
	USCSV      Format = "us-csv"
	USGeoJSON  Format = "us-geojson"
	FrenchCSV  Format = "fr-csv"
	MappedCSV  Format = "mapped-csv"
)

// Options says how to read. The zero value detects everything.
type Options struct {
	Map       *Map                               // column map for a CSV of any other register; nil = none
	Aliases   stations.Aliases                   // the user's meaning of connector tokens
	AssumedKW map[stations.ConnectorType]float64 // power per plug for tables without any; nil = DefaultAssumedKW, empty = none
	Source    string                             // name of the dataset; empty = from the format
	Licence   string                             // licence of the records; empty = from the file, if it says
	Limits    Limits
}

// Read reads sites from r, whose name stands in errors. The sites are in the
// order of the file; stalls that are alike may share their list of connectors
// and sites their price: copy before changing one. The report is not nil even with an error, which is a
// *fault.Input unless r itself fails.
func Read(r io.Reader, name string, o Options) ([]stations.Site, *Report, error) {
	o.Limits = o.Limits.withDefaults()
	if o.AssumedKW == nil {
		o.AssumedKW = DefaultAssumedKW()
	}
	c := newCollector(name, o)
	err := c.read(r)
	if err == nil {
		err = c.finish()
	}
	if err != nil {
		return nil, c.report, c.named(err)
	}
	return c.sites, c.report, nil
}

func (c *collector) read(r io.Reader) error {
	plain, err := c.decompress(r)
	if err != nil {
		return err
	}
	defer plain.Close()
	in := bufio.NewReaderSize(plain, 1<<16)
	head, err := in.Peek(512)
	if err != nil && !errors.Is(err, io.EOF) && len(head) == 0 {
		return err
	}
	if err := foreign(head); err != nil {
		return err
	}
	switch kind(head) {
	case kindEmpty:
		return &fault.Input{Found: "an empty file", Expected: "stations", Err: ErrNothingUsable}
	case kindPBF:
		return c.readPBF(in)
	case kindParquet:
		return &fault.Input{Found: "Parquet, as a snapshot is", Expected: "a station file; a snapshot is read from its end, so give it by name, not packed and not through a pipe", Err: ErrUnknownFormat}
	}
	text, err := c.decode(in, head)
	if err != nil {
		return err
	}
	in = bufio.NewReaderSize(text, 1<<16)
	head, err = in.Peek(512)
	if err != nil && !errors.Is(err, io.EOF) && len(head) == 0 {
		return err
	}
	if err := foreign(head); err != nil {
		return err
	}
	switch kind(head) {
	case kindJSON:
		if c.o.Map != nil {
			c.report.note("the column map is not used here: it is for CSV")
		}
		return c.readJSON(in)
	case kindXML:
		return c.readXML(in)
	case kindBinary, kindEmpty:
		return &fault.Input{Expected: "CSV, GeoJSON, JSON, .osm or .osm.pbf, plain or as .gz or .zst", Err: ErrUnknownFormat}
	}
	return c.readTable(in)
}

// named fills the file's name into an error of the input.
func (c *collector) named(err error) error {
	var bad *fault.Input
	if errors.As(err, &bad) && bad.File == "" {
		bad.File = c.report.File
	}
	return err
}
