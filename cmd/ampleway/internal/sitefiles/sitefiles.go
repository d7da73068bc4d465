// Package sitefiles reads station files of any kind, published or snapshot,
// into sites or an index.
package sitefiles

import (
	"fmt"
	"io"
	"os"

	"ampleway/data/fault"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/stations/snapshot"
)

// Read reads files into one list of sites, in the order of the files. A report
// stands for each file that is no snapshot; a snapshot was checked when it was
// made.
func Read(paths []string, o open.Options) ([]stations.Site, []*open.Report, error) {
	var sites []stations.Site
	var reports []*open.Report
	for _, path := range paths {
		isSnapshot, err := isSnapshot(path)
		if err != nil {
			return nil, nil, err
		}
		if isSnapshot {
			table, err := load(path, o.Aliases)
			if err != nil {
				return nil, nil, err
			}
			for i := range table.Len() {
				sites = append(sites, table.Site(i))
			}
			continue
		}
		more, report, err := open.ReadFile(path, o)
		if err != nil {
			return nil, nil, err
		}
		sites, reports = append(sites, more...), append(reports, report)
	}
	return sites, reports, nil
}

// Index reads files into one index. A single snapshot brings its own; sites of
// several files are merged by the default rule.
func Index(paths []string, o open.Options) (*stations.Index, []*open.Report, error) {
	if len(paths) == 1 {
		if isSnapshot, err := isSnapshot(paths[0]); err != nil {
			return nil, nil, err
		} else if isSnapshot {
			table, err := load(paths[0], o.Aliases)
			if err != nil {
				return nil, nil, err
			}
			return table.Index(), nil, nil
		}
	}
	sites, reports, err := Read(paths, o)
	if err != nil {
		return nil, nil, err
	}
	return stations.NewIndex(stations.Sites(stations.MergeRule{}.Merge(sites))), reports, nil
}

func load(path string, aliases stations.Aliases) (*snapshot.Table, error) {
	table, err := snapshot.Load(path)
	if err != nil {
		return nil, err
	}
	if len(aliases) > 0 {
		table.Rename(aliases)
	}
	return table, nil
}

// isSnapshot looks at the first bytes of a file. Standard input or a pipe is
// never one: a snapshot is read from its end.
func isSnapshot(path string) (bool, error) {
	if path == "-" {
		return false, nil
	}
	info, err := os.Stat(path)
	if err != nil {
		return false, &fault.Input{File: path, Expected: "a file that can be read", Err: err}
	}
	if info.IsDir() {
		return false, &fault.Input{File: path, Found: "a folder", Expected: "a station file"}
	}
	if !info.Mode().IsRegular() {
		return false, nil
	}
	file, err := os.Open(path)
	if err != nil {
		return false, &fault.Input{File: path, Expected: "a file that can be read", Err: err}
	}
	defer file.Close()
	head := make([]byte, 4)
	if _, err := io.ReadFull(file, head); err != nil {
		return false, nil
	}
	return snapshot.Is(head), nil
}

// Check reads files for what they hold. A file that cannot be read as a whole
// is an error; a snapshot is one, too, as it holds only what was usable.
func Check(paths []string, o open.Options) ([]*open.Report, error) {
	var reports []*open.Report
	for _, path := range paths {
		if isSnapshot, err := isSnapshot(path); err != nil {
			return nil, err
		} else if isSnapshot {
			return nil, &fault.Input{File: path, Found: "a snapshot", Expected: "a station file as it was published; a snapshot holds only what was usable"}
		}
		_, report, err := open.ReadFile(path, o)
		if err != nil {
			return nil, err
		}
		reports = append(reports, report)
	}
	return reports, nil
}

// Notes says what was left out of files and what was taken for them as a whole.
func Notes(reports []*open.Report) []string {
	var notes []string
	for _, r := range reports {
		for _, n := range r.Notes {
			notes = append(notes, r.File+": "+n)
		}
		if r.RejectCount > 0 {
			notes = append(notes, fmt.Sprintf("%s: %d of %d records cannot be used (ampleway stations check %s lists them)", r.File, r.RejectCount, r.Records, r.File))
		}
	}
	return notes
}
