// Command refcheck asks of the refrigerant engine what its users may take for granted: that every designation
// converges everywhere in the trade's range to a solution that survives recomputation, that it agrees with an
// independent property library, and that a fit is never farther from its equation than it states. Run it from the
// module's root:
//
//	go run ./cmd/refcheck grid [--quick] [--states N] [--library SECONDS] [--list FILE] [DESIGNATION…]
//	go run ./cmd/refcheck fits [--points N] [--seed N] [DESIGNATION…]
//	go run ./cmd/refcheck compare [DESIGNATION…]
//	go run ./cmd/refcheck document
//
// compare holds states against CoolProp; grid with --library gives CoolProp its calls too, for that long a
// designation. Both run the Python that COLDWRIGHT_PYTHON names, with the package coolprop. With --save FILE each
// leaves its results as JSON; document --from DIR makes docs/refrigerants.md of grid.json, fits.json and
// compare.json. It ends with status 1 when anything failed.
package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"coldwright/refrigerant"
)

func main() {
	if err := run(os.Args[1:], os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "refcheck:", err)
		os.Exit(1)
	}
}

func run(args []string, out io.Writer) error {
	if len(args) == 0 {
		return errors.New("say what to check: grid, fits, compare or document")
	}
	fs := flag.NewFlagSet(args[0], flag.ContinueOnError)
	file := fs.String("save", "", "file to leave the results in, as JSON")
	parse := func() error { return fs.Parse(args[1:]) }
	save := func(v any, err error) error {
		if *file == "" {
			return err
		}
		text, problem := json.Marshal(v)
		if problem == nil {
			problem = os.WriteFile(*file, text, 0o644)
		}
		return errors.Join(err, problem)
	}
	switch args[0] {
	case "grid":
		states := fs.Int("states", 20000, "flash states for each designation; a tenth as many saturation states")
		quick := fs.Bool("quick", false, "300 flash states for each designation")
		seconds := fs.Float64("library", 0, "seconds a designation that CoolProp gets for the same calls")
		list := fs.String("list", "", "file to write the failures to, one a line")
		if err := parse(); err != nil {
			return err
		}
		if *quick {
			*states = 300
		}
		all, err := grid(out, named(fs.Args()), *states, *list, time.Duration(*seconds*float64(time.Second)))
		return save(all, err)
	case "fits":
		points := fs.Int("points", 1e6, "random states over all designations together")
		seed := fs.Uint64("seed", 1, "seed of the random points")
		if err := parse(); err != nil {
			return err
		}
		all, err := fits(out, named(fs.Args()), *points, *seed)
		return save(all, err)
	case "compare":
		if err := parse(); err != nil {
			return err
		}
		var errs []error
		all := compare(out, named(fs.Args()))
		for _, c := range all {
			errs = append(errs, c.judge())
		}
		return save(all, errors.Join(errs...))
	case "document":
		from := fs.String("from", "", "folder with saved results")
		to := fs.String("out", "docs", "folder to write to")
		if err := parse(); err != nil {
			return err
		}
		text, err := document(*from)
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(*to, "refrigerants.md"), []byte(text), 0o644)
	}
	return fmt.Errorf("unknown check %q: grid, fits, compare or document", args[0])
}

// named is what was wanted, everything on file if nothing was.
func named(list []string) []string {
	if len(list) == 0 {
		return refrigerant.Designations()
	}
	return list
}

// inOrder computes over all cores and hands the results to show in the order of the list.
func inOrder[T any](list []string, compute func(string) T, show func(T)) {
	results := make([]chan T, len(list))
	for i := range results {
		results[i] = make(chan T, 1)
	}
	work := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range work {
				results[i] <- compute(list[i])
			}
		})
	}
	go func() {
		for i := range list {
			work <- i
		}
		close(work)
	}()
	for i := range list {
		show(<-results[i])
	}
	wg.Wait()
}
