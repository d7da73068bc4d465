package input

import (
	"context"
	"fmt"
	"io"
	"os"

	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/stations/snapshot"
)

// stationFile is what one name stands for: a snapshot, which was checked when
// it was made, or records with a report of what could not be used.
type stationFile struct {
	table  *snapshot.Table
	sites  []stations.Site
	report *open.Report
}

func (f Folder) stationFile(name string, o open.Options) (s stationFile, err error) {
	r, label, err := f.open(Stations, name)
	if err != nil {
		return s, err
	}
	defer r.Close()
	if file, size, is := asSnapshot(r); is {
		if s.table, err = snapshot.Read(file, size, label); err == nil && len(o.Aliases) > 0 {
			s.table.Rename(o.Aliases)
		}
		return s, err
	}
	s.sites, s.report, err = open.Read(r, label, o)
	return s, err
}

// asSnapshot looks at the first bytes of a file. Standard input or a pipe is
// never a snapshot, which is read from its end.
func asSnapshot(r io.Reader) (file *os.File, size int64, is bool) {
	file, is = r.(*os.File)
	if !is {
		return nil, 0, false
	}
	info, err := file.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return nil, 0, false
	}
	head := make([]byte, 4)
	_, err = file.ReadAt(head, 0)
	return file, info.Size(), err == nil && snapshot.Is(head)
}

func (s stationFile) all() []stations.Site {
	if s.table == nil {
		return s.sites
	}
	sites := make([]stations.Site, s.table.Len())
	for i := range sites {
		sites[i] = s.table.Site(i)
	}
	return sites
}

// Sites reads station files, published ones or snapshots, into one list in the
// order of the files. A report stands for each file that is no snapshot.
func (f Folder) Sites(names []string, o open.Options) ([]stations.Site, []*open.Report, error) {
	var sites []stations.Site
	var reports []*open.Report
	for _, name := range names {
		s, err := f.stationFile(name, o)
		if err != nil {
			return nil, nil, err
		}
		sites = append(sites, s.all()...)
		if s.report != nil {
			reports = append(reports, s.report)
		}
	}
	return sites, reports, nil
}

// Network is the stations that a plan may choose from.
type Network struct {
	*stations.Index
	Reports []*open.Report // of the files that are no snapshots
	live    string
}

// Stations reads station files into one index; records of several sources that
// mean one site are merged by the default rule, and a single snapshot brings
// its own index. The status of live records, from a file or URL in OCPI form,
// is laid over them where one is named.
func (f Folder) Stations(ctx context.Context, names []string, o open.Options, status string) (Network, error) {
	if len(names) == 1 && status == "" {
		s, err := f.stationFile(names[0], o)
		switch {
		case err != nil:
			return Network{}, err
		case s.table != nil:
			return Network{Index: s.table.Index()}, nil
		}
		return Network{Index: merged(s.sites), Reports: []*open.Report{s.report}}, nil
	}
	sites, reports, err := f.Sites(names, o)
	n := Network{Reports: reports}
	if err == nil && status != "" {
		n.live, err = f.applyStatus(ctx, sites, status)
	}
	n.Index = merged(sites)
	return n, err
}

func merged(sites []stations.Site) *stations.Index {
	return stations.NewIndex(stations.Sites(stations.MergeRule{}.Merge(sites)))
}

// Notes says what was left out of files, what was taken for them as a whole,
// and of how many stations the status is known.
func (n Network) Notes() []string {
	var notes []string
	for _, r := range n.Reports {
		for _, note := range r.Notes {
			notes = append(notes, r.File+": "+note)
		}
		if text := r.Unusable(); text != "" {
			notes = append(notes, r.File+": "+text)
		}
	}
	if n.live != "" {
		notes = append(notes, n.live)
	}
	return notes
}

func (f Folder) applyStatus(ctx context.Context, sites []stations.Site, from string) (string, error) {
	live, err := f.status(ctx, from)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("the live status of %d of %d stations is known", stations.ApplyStatus(sites, live), len(sites)), nil
}
