// Command refcheck asks of the refrigerant engine what its users may take for granted: that every designation converges everywhere in the trade's range to a
// solution that survives recomputation, and that a fit is never farther from its equation than it says. Run it from the module's root:
//
//	go run ./cmd/refcheck grid [--quick] [--states N] [--list FILE] [DESIGNATION…]
//	go run ./cmd/refcheck fits [--points N] [--seed N] [DESIGNATION…]
//
// It ends with status 1 when anything failed.
package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"
	"sync"

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
		return errors.New("say what to check: grid or fits")
	}
	fs := flag.NewFlagSet(args[0], flag.ContinueOnError)
	switch args[0] {
	case "grid":
		states := fs.Int("states", 20000, "flash states for each designation; a tenth as many saturation states")
		quick := fs.Bool("quick", false, "300 flash states for each designation")
		list := fs.String("list", "", "file to write the failures to, one a line")
		if err := fs.Parse(args[1:]); err != nil {
			return err
		}
		if *quick {
			*states = 300
		}
		return grid(out, named(fs.Args()), *states, *list)
	case "fits":
		points := fs.Int("points", 1e6, "random states over all designations together")
		seed := fs.Uint64("seed", 1, "seed of the random points")
		if err := fs.Parse(args[1:]); err != nil {
			return err
		}
		_, err := fits(out, named(fs.Args()), *points, *seed)
		return err
	}
	return fmt.Errorf("unknown check %q: grid or fits", args[0])
}

// named is what was asked for, everything on file if nothing was.
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
