package study

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"

	"ampleway/data/fault"
	"ampleway/route/input"
)

// Names of the files in a folder of results.
const (
	CasesFile    = "cases.parquet"
	CSVFile      = "cases.csv"
	ManifestFile = "manifest.json"
	SummaryFile  = "summary.json"
	TextFile     = "summary.txt"
	BuildFile    = "build.geojson"
	PageFile     = "report.html" // written by the command, from package sheet
)

// ManifestFormat names the form of the manifest.
const ManifestFormat = "ampleway-margins-1"

// SummaryFormat names the form of the summary.
const SummaryFormat = "ampleway-margins-summary-1"

// ComparisonFormat is the name and version of a comparison.
const ComparisonFormat = "ampleway-margins-comparison-2"

// Manifest says what a folder of results was made from and what is in it. It
// is written last: where there is one, the other files are whole.
type Manifest struct {
	Format    string            `json:"format"`
	Version   string            `json:"version"`   // of the program
	Processor string            `json:"processor"` // results of one kind are alike to the bit
	Study     string            `json:"study"`     // hash over all that decides the results
	Seed      uint64            `json:"seed"`
	Name      string            `json:"name,omitempty"`
	Note      string            `json:"note,omitempty"`
	Part      int               `json:"part"`  // of Parts, counted from 0
	Parts     int               `json:"parts"` // 1: the whole
	Complete  bool              `json:"complete"`
	Cases     int64             `json:"cases"`
	Feasible  int64             `json:"feasible"`
	JobsLeft  int               `json:"jobs_left"`
	Inputs    []FileHash        `json:"inputs"`
	Corridors []CorridorSummary `json:"corridors"` // of this part
	Faults    []Fault           `json:"faults"`
	Outputs   []FileHash        `json:"outputs"`
}

// FaultCount is how many things could not be used.
func (m *Manifest) FaultCount() int {
	n := 0
	for _, f := range m.Faults {
		n += f.Count
	}
	return n
}

// CorridorSummary is a corridor in the manifest.
type CorridorSummary struct {
	Number   int     `json:"number"`
	Name     string  `json:"name"`
	SHA256   string  `json:"sha256"`
	LengthKM float64 `json:"length_km"`
	Cases    int64   `json:"cases"`
	Feasible int64   `json:"feasible"`
}

// ReadManifest reads the manifest in a folder of results.
func ReadManifest(folder string) (*Manifest, error) {
	path := filepath.Join(folder, ManifestFile)
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, &fault.Input{File: folder, Expected: "a folder of results with a " + ManifestFile, Err: err}
	}
	m := &Manifest{}
	if err := json.Unmarshal(text, m); err != nil {
		return nil, &fault.Input{File: path, Expected: "a manifest", Err: err}
	}
	if m.Format != ManifestFormat {
		return nil, &fault.Input{File: path, Field: "format", Found: m.Format, Expected: ManifestFormat}
	}
	return m, nil
}

// finished is the summary of a folder that holds all of a part already.
func finished(folder string, in *inputs, p Part) (*Summary, error) {
	m, err := ReadManifest(folder)
	if err != nil || m.Study != in.id || !m.Complete || m.Part != p.Index || m.Parts != max(p.Of, 1) {
		return nil, nil //nolint:nilerr // no results, or others: they are to be made
	}
	for _, f := range m.Outputs {
		if hash, _, err := input.Folder(folder).Hash(input.Results, f.Name); err != nil || hash != f.SHA256 {
			return nil, nil
		}
	}
	return readSummary(folder, m)
}

func readSummary(folder string, m *Manifest) (*Summary, error) {
	path := filepath.Join(folder, SummaryFile)
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	s := &Summary{}
	if err := json.Unmarshal(text, s); err != nil {
		return nil, errors.Join(&fault.Input{File: path, Expected: "a summary"}, err)
	}
	if s.Format != SummaryFormat {
		return nil, &fault.Input{File: path, Field: "format", Found: s.Format, Expected: SummaryFormat}
	}
	s.Manifest = m
	return s, nil
}
