package main

import (
	"bufio"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"time"

	"coldwright/refrigerant"
)

//go:embed reference.py
var referenceScript string

// library is a running process of the reference library.
type library struct {
	python  string
	limit   time.Duration // of CPU time for one answer
	fluid   string        // the line that names the fluid, to say again after a restart
	cmd     *exec.Cmd
	in      io.WriteCloser
	answers chan string
}

// errHung: no answer within the limit; a new process answers the next question.
var errHung = errors.New("no answer within the time limit")

// refused is an answer of the library that says it failed.
type refused string

func (e refused) Error() string { return string(e) }

func python() string {
	if p := os.Getenv("COLDWRIGHT_PYTHON"); p != "" {
		return p
	}
	return "python3"
}

func libraryVersion() (string, error) {
	out, err := exec.Command(python(), "-c", referenceScript, "version").Output()
	if err != nil {
		return "", fmt.Errorf("the reference library does not run: %w", err)
	}
	return strings.TrimSpace(string(out)), nil
}

// libraries is one for each core, started when first asked.
func libraries(limit time.Duration) chan *library {
	free := make(chan *library, runtime.GOMAXPROCS(0))
	for range cap(free) {
		free <- &library{python: python(), limit: limit}
	}
	return free
}

func (l *library) start() error {
	l.cmd = exec.Command(l.python, "-c", referenceScript, fmt.Sprint(l.limit.Seconds()))
	l.cmd.Stderr = io.Discard
	in, err := l.cmd.StdinPipe()
	if err != nil {
		return err
	}
	out, err := l.cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := l.cmd.Start(); err != nil {
		return err
	}
	answers := make(chan string, 16)
	l.in, l.answers = in, answers
	go func() {
		sc := bufio.NewScanner(out)
		for sc.Scan() {
			answers <- sc.Text()
		}
		close(answers)
	}()
	return nil
}

// patience is how long a busy machine may take to give a process its CPU time.
const patience = 5 * time.Minute

// stop ends the process and says how it ended.
func (l *library) stop() string {
	if l.cmd == nil {
		return ""
	}
	l.in.Close()
	if l.cmd.Process.Kill() == nil {
		for range l.answers { // until the pipe closes
		}
	}
	end := "ended"
	if err := l.cmd.Wait(); err != nil {
		end = err.Error()
	}
	l.cmd = nil
	return end
}

// ask sends one line and waits for its answer.
func (l *library) ask(line string) (string, error) {
	if l.cmd == nil {
		if err := l.start(); err != nil {
			return "", err
		}
		if l.fluid != "" && line != l.fluid {
			if _, err := l.ask(l.fluid); err != nil {
				return "", err
			}
		}
	}
	if _, err := io.WriteString(l.in, line+"\n"); err != nil {
		l.stop()
		return "", err
	}
	timer := time.NewTimer(patience)
	defer timer.Stop()
	select {
	case a, ok := <-l.answers:
		if !ok {
			end := l.stop()
			if strings.Contains(end, "virtual timer") {
				return "", errHung
			}
			return "", errors.New("the process ended: " + end)
		}
		if why, bad := strings.CutPrefix(a, "!"); bad {
			return "", refused(why)
		}
		return a, nil
	case <-timer.C:
		l.stop()
		return "", errHung
	}
}

// numbers asks for n values.
func (l *library) numbers(n int, line string) ([]float64, error) {
	a, err := l.ask(line)
	if err != nil {
		return nil, err
	}
	f := strings.Split(a, ";")
	if len(f) != n {
		return nil, fmt.Errorf("%d values, want %d: %s", len(f), n, a)
	}
	v := make([]float64, n)
	for i := range f {
		if v[i], err = strconv.ParseFloat(f[i], 64); err != nil || math.IsNaN(v[i]) || math.IsInf(v[i], 0) {
			return nil, refused("not a number: " + a)
		}
	}
	return v, nil
}

// mixing says how the library's parameters of the pairs compare with ours: handed, those it has none of and was given
// ours; other, those it has differently.
type mixing struct{ handed, other []string }

// use makes r the fluid of what follows.
func (l *library) use(r *refrigerant.Refrigerant) (mix mixing, err error) {
	var cas, z, own []string
	parts := r.Composition()
	mol := 0.0
	for _, p := range parts {
		c, err := refrigerant.Load(p.Designation)
		if err != nil {
			return mix, err
		}
		mol += p.MassFraction / c.MolarMass()
		f, err := refrigerant.EquationOf(p.Designation)
		if err != nil {
			return mix, err
		}
		cas = append(cas, f.CAS)
		z = append(z, strconv.FormatFloat(p.MassFraction/c.MolarMass()*r.MolarMass(), 'g', 17, 64))
	}
	// First without ours for what it knows itself, which it says pair by pair.
	for i := range parts {
		for j := i + 1; j < len(parts); j++ {
			name := parts[i].Designation + "/" + parts[j].Designation
			l.fluid = fmt.Sprintf("F;%s&%s;0.5,0.5;", cas[i], cas[j])
			answer, err := l.ask(l.fluid)
			p, _, wrong := refrigerant.MixingOf(parts[i].Designation, parts[j].Designation)
			if wrong != nil {
				return mix, wrong
			}
			q := [4]float64{p.BetaT, p.GammaT, p.BetaV, p.GammaV}
			var no refused
			switch {
			case errors.As(err, &no):
				own = append(own, fmt.Sprintf("%d,%d,%.17g,%.17g,%.17g,%.17g", i, j, q[0], q[1], q[2], q[3]))
				mix.handed = append(mix.handed, name)
			case err != nil:
				return mix, err
			default:
				f := strings.Split(answer, ",")
				if len(f) != 6 {
					return mix, fmt.Errorf("%s: parameters %q", name, answer)
				}
				for k := range q {
					v, err := strconv.ParseFloat(f[2+k], 64)
					if err != nil {
						return mix, err
					}
					if math.Abs(v-q[k]) > 5e-6 {
						mix.other = append(mix.other, name)
						break
					}
				}
			}
		}
	}
	l.fluid = fmt.Sprintf("F;%s;%s;%s", strings.Join(cas, "&"), strings.Join(z, ","), strings.Join(own, "|"))
	_, err = l.ask(l.fluid)
	return mix, err
}
