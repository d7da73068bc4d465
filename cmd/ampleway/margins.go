package main

import (
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"

	"ampleway/data/wording"
	"ampleway/route/study"
	"ampleway/route/study/sheet"

	"github.com/spf13/cobra"
)

// marginsOptions is the command line of ampleway margins.
type marginsOptions struct {
	output, part, format string
	csv, resume, quiet   bool
	workers              int
}

func newMarginsCommand() *cobra.Command {
	o := &marginsOptions{}
	c := &cobra.Command{
		Use:   "margins [STUDY.yaml]",
		Short: "Test reserve margins across corridors, cars and weather in batch",
		Long: `Test reserve margins across corridors, cars and weather in batch.

Without a study a small one of the demo is run: an invented place with invented
roads, stations and cars. A study file is YAML; "ampleway margins schema" prints
its JSON Schema, and the comment of package route/study explains every key.

With -o the results go to a folder: cases.parquet (one row per case), build.geojson,
report.html, summary.txt, summary.json, manifest.json. Ctrl-C keeps what was
done; --resume goes on from there. One run at a time writes to a folder; a
second one is refused.

For more than one machine the study is cut into parts, one command each, and
put together again. The same command under three schedulers:

  Slurm         sbatch --array=0-7 --requeue --wrap \
                  'ampleway margins study.yaml --part auto -o parts/$SLURM_ARRAY_TASK_ID --resume'
  Kubernetes    ampleway margins job | kubectl apply -f -
  GNU parallel  seq 0 7 | parallel ampleway margins study.yaml --part {}/8 -o parts/{} --resume

then: ampleway margins join parts/* -o whole

Exit codes: 0 done; 1 something could not be used or written, all else is done;
2 the command line or the study is wrong; 130 interrupted.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return o.run(c, args) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVarP(&o.output, "output", "o", "", "folder for the results")
	f.BoolVar(&o.csv, "csv", false, "also write cases.csv")
	f.StringVar(&o.part, "part", "", "run one part only: K/N with K from 0, or auto: from the scheduler's environment")
	f.BoolVar(&o.resume, "resume", false, "go on where an interrupted run of the same study stopped")
	f.IntVar(&o.workers, "workers", 0, "plans worked on at once (default: one per core)")
	f.StringVar(&o.format, "format", "text", "what is printed: text or json")
	f.BoolVar(&o.quiet, "quiet", false, "no progress on standard error")
	c.AddCommand(newMarginsJoinCommand(), newMarginsCompareCommand(), newMarginsSchemaCommand(), newMarginsJobCommand())
	return c
}

func (o *marginsOptions) run(c *cobra.Command, args []string) error {
	write, err := summaryFormat(o.format)
	if err != nil {
		return err
	}
	part, err := parsePart(o.part, os.Getenv)
	if err != nil {
		return err
	}
	if o.resume && o.output == "" {
		return &usageError{errors.New("--resume needs -o FOLDER, where the interrupted run put its results")}
	}
	s, err := theStudy(args)
	if err != nil {
		return err
	}
	progress := newProgressLine(unscreened(c.ErrOrStderr()), o.quiet)
	summary, err := study.Run(c.Context(), s, study.Options{
		Folder: o.output, CSV: o.csv, Part: part, Workers: o.workers, Resume: o.resume,
		Version: programVersion(), Tell: progress.tell,
	})
	progress.end()
	if summary != nil {
		writeErr := errors.Join(write(c.OutOrStdout(), summary), writePage(o.output, summary))
		if writeErr != nil {
			return errors.Join(err, writeErr)
		}
	}
	if err != nil {
		return err
	}
	return verdict(c, summary.Manifest)
}

// verdict is the error of a run that ended with something missing.
func verdict(c *cobra.Command, m *study.Manifest) error {
	switch {
	case !m.Complete && c.Context().Err() != nil:
		return fmt.Errorf("interrupted; %s still to be done: the same command with --resume goes on", wording.CountIs(m.JobsLeft, "job"))
	case !m.Complete:
		return fmt.Errorf("%s still to be done: the same command with --resume goes on", wording.CountIs(m.JobsLeft, "job"))
	case len(m.Faults) > 0:
		return fmt.Errorf("done, but %s could not be used; the list is above and in the manifest", wording.Count(m.FaultCount(), "thing"))
	}
	return nil
}

func theStudy(args []string) (*study.Study, error) {
	if len(args) == 0 {
		return study.Demo()
	}
	return study.ReadFile(args[0])
}

func summaryFormat(name string) (func(io.Writer, *study.Summary) error, error) {
	switch name {
	case "text":
		return func(w io.Writer, s *study.Summary) error { return s.WriteText(w) }, nil
	case "json":
		return func(w io.Writer, s *study.Summary) error {
			e := json.NewEncoder(w)
			e.SetIndent("", "  ")
			return e.Encode(s)
		}, nil
	}
	return nil, &usageError{fmt.Errorf("--format %s: text or json", name)}
}

// parsePart reads K/N, or takes both from the environment of a Slurm job array
// or, with PARTS for N, of a Kubernetes Indexed Job.
func parsePart(text string, env func(string) string) (study.Part, error) {
	if text == "" {
		return study.Part{}, nil
	}
	index, of, ok := strings.Cut(text, "/")
	if text == "auto" {
		ok = true
		switch {
		case env("SLURM_ARRAY_TASK_ID") != "":
			index, of = env("SLURM_ARRAY_TASK_ID"), env("SLURM_ARRAY_TASK_COUNT")
		default:
			index, of = env("JOB_COMPLETION_INDEX"), env("PARTS")
		}
	}
	k, errK := strconv.Atoi(index)
	n, errN := strconv.Atoi(of)
	if !ok || errK != nil || errN != nil || n < 1 || k < 0 || k >= n {
		return study.Part{}, &usageError{fmt.Errorf("--part %s: K/N with K from 0 to N−1, or auto within a Slurm job array (or with JOB_COMPLETION_INDEX and PARTS set); found %q of %q", text, index, of)}
	}
	return study.Part{Index: k, Of: n}, nil
}

func newMarginsJoinCommand() *cobra.Command {
	o := study.JoinOptions{}
	format := "text"
	c := &cobra.Command{
		Use:   "join PART... -o FOLDER",
		Short: "Put the parts of a study together",
		Args:  cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			write, err := summaryFormat(format)
			if err != nil {
				return err
			}
			if o.Folder == "" {
				return &usageError{errors.New("--output is missing: expected a folder for the whole")}
			}
			summary, err := study.Join(args, o)
			if err != nil {
				return err
			}
			if err := errors.Join(write(c.OutOrStdout(), summary), writePage(o.Folder, summary)); err != nil {
				return err
			}
			return verdict(c, summary.Manifest)
		},
	}
	c.Flags().SortFlags = false
	c.Flags().StringVarP(&o.Folder, "output", "o", "", "folder for the whole")
	c.Flags().BoolVar(&o.CSV, "csv", false, "also write cases.csv")
	c.Flags().StringVar(&format, "format", format, "what is printed: text or json")
	return c
}

func writePage(folder string, s *study.Summary) error {
	if folder == "" {
		return nil
	}
	return writeTo(filepath.Join(folder, study.PageFile), nil, func(w io.Writer) error { return sheet.Write(w, s) })
}

func newMarginsCompareCommand() *cobra.Command {
	format := "text"
	c := &cobra.Command{
		Use:   "compare A B",
		Short: "Show what changed from one folder of results to another",
		Args:  cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error {
			if format != "text" && format != "json" {
				return &usageError{fmt.Errorf("--format %s: text or json", format)}
			}
			compared, err := study.Compare(args[0], args[1])
			if err != nil {
				return err
			}
			if format == "text" {
				return compared.WriteText(c.OutOrStdout())
			}
			e := json.NewEncoder(c.OutOrStdout())
			e.SetIndent("", "  ")
			return e.Encode(compared)
		},
	}
	c.Flags().StringVar(&format, "format", format, "text or json")
	return c
}

func newMarginsSchemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of study files",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := c.OutOrStdout().Write(study.Schema())
			return err
		},
	}
}

//go:embed margins_job.yaml
var marginsJob []byte

func newMarginsJobCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "job",
		Short: "Print a Kubernetes Indexed Job that runs a study in parts",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := c.OutOrStdout().Write(marginsJob)
			return err
		},
	}
}

// programVersion is the module's version, or its revision where that is known.
func programVersion() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			return s.Value
		}
	}
	return info.Main.Version
}
