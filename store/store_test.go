package store

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/record"
	"coldwright/store/storetest"
)

// The test binary runs itself again as the process that is killed.
func TestMain(m *testing.M) {
	if path := os.Getenv("COLDWRIGHT_TEST_WRITER"); path != "" {
		writer(path)
		return
	}
	os.Exit(m.Run())
}

// writer appends events and says each id only after it was acknowledged.
func writer(path string) {
	ctx := context.Background()
	s, err := OpenSQLite(ctx, path)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	start := time.Now().UnixNano() % 90_000_000
	for n := range 100_000 {
		a, b := storetest.Event(1, int(start)%9_000_000*10+2*n), storetest.Event(1, int(start)%9_000_000*10+2*n+1)
		picture := record.NewBlob("image/jpeg", []byte(strings.Repeat(string(b.ID), 200)))
		b.Kind, b.Body = record.PhotoTaken, []byte(`{"hash":"`+picture.Hash+`","type":"image/jpeg","width":1,"height":1}`)
		if err := s.PutBlobs(ctx, picture); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		if _, err := s.Append(ctx, "form-"+string(a.ID), nil, a, b); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Printf("%s %s\n", a.ID, b.ID)
	}
}

func openTemp(t *testing.T) *SQL {
	t.Helper()
	s, err := OpenSQLite(context.Background(), filepath.Join(t.TempDir(), "coldwright.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func TestSQLite_Contract(t *testing.T) {
	storetest.Run(t, func(t *testing.T) app.Store { return openTemp(t) }, 10)
}

func TestMemStore_Contract(t *testing.T) {
	storetest.Run(t, func(*testing.T) app.Store { return app.NewMemStore() }, 10)
}

// TestSQLite_Kill: SIGKILL in the middle of writes loses nothing that was acknowledged, and leaves no half of what belongs together.
func TestSQLite_Kill(t *testing.T) {
	path := filepath.Join(t.TempDir(), "coldwright.db")
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(9, 9))
	acknowledged := map[record.ID]bool{}
	rounds := 6
	if n, err := strconv.Atoi(os.Getenv("COLDWRIGHT_KILLS")); err == nil {
		rounds = n
	}
	for round := range rounds {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), "COLDWRIGHT_TEST_WRITER="+path)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		var stderr strings.Builder
		cmd.Stderr = &stderr
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		sc := bufio.NewScanner(out)
		stop := 20 + rng.IntN(150)
		for n := 0; n < stop && sc.Scan(); n++ {
			for _, id := range strings.Fields(sc.Text()) {
				acknowledged[record.ID(id)] = true
			}
		}
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		// What was acknowledged before the kill may still be in the pipe.
		for sc.Scan() {
			if f := strings.Fields(sc.Text()); len(f) == 2 && len(f[1]) == 36 {
				acknowledged[record.ID(f[0])], acknowledged[record.ID(f[1])] = true, true
			}
		}
		_ = cmd.Wait() // killed
		if v, err := VerifySQLite(ctx, filepath.Dir(path)); err != nil || !v.Whole() {
			t.Errorf("after kill %d: %+v %v", round, v.Damage, err)
		}
		s, err := OpenSQLite(ctx, path)
		if err != nil {
			t.Fatalf("after kill %d: %v (%s)", round, err, stderr.String())
		}
		got, err := s.MachineEvents(ctx, storetest.Event(1, 1).Machine)
		if err != nil {
			t.Fatal(err)
		}
		have := map[record.ID]bool{}
		for _, e := range got {
			have[e.ID] = true
			for _, h := range e.Blobs() {
				if _, err := s.Blob(ctx, h); err != nil {
					t.Errorf("after kill %d: the picture of event %s: %v", round, e.ID, err)
				}
			}
		}
		for id := range acknowledged {
			if !have[id] {
				t.Errorf("after kill %d: acknowledged event %s is lost", round, id)
			}
		}
		if len(have)%2 != 0 {
			t.Errorf("after kill %d: %d events: half of a pair stayed", round, len(have))
		}
		var ok string
		if err := s.write.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&ok); err != nil || ok != "ok" {
			t.Errorf("after kill %d: integrity %q %v", round, ok, err)
		}
		if w := s.Warnings(); len(w) > 0 {
			t.Errorf("after kill %d: %v", round, w)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d kills, %d events acknowledged", rounds, len(acknowledged))
	if len(acknowledged) < 200 {
		t.Errorf("only %d events were acknowledged", len(acknowledged))
	}
}

func TestSQLite_AppendOnly(t *testing.T) {
	s := openTemp(t)
	ctx := context.Background()
	if _, err := s.Append(ctx, "", nil, storetest.Event(3, 1)); err != nil {
		t.Fatal(err)
	}
	if err := s.PutBlobs(ctx, record.NewBlob("image/jpeg", []byte("picture"))); err != nil {
		t.Fatal(err)
	}
	for _, q := range []string{"UPDATE events SET body = '{}'", "DELETE FROM events", "UPDATE blobs SET media = ''", "DELETE FROM blobs"} {
		if _, err := s.write.ExecContext(ctx, q); err == nil || !strings.Contains(err.Error(), "append-only") {
			t.Errorf("%s: %v", q, err)
		}
	}
}

func TestSQLite_RebuildAndReopen(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "a", "coldwright.db")
	s, err := OpenSQLite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	e := storetest.Event(4, 1)
	if _, err := s.Append(ctx, "", nil, e); err != nil {
		t.Fatal(err)
	}
	if err := s.Rebuild(ctx); err != nil {
		t.Fatal(err)
	}
	if m, err := s.MachineOf(ctx, e.Visit); err != nil || m != e.Machine {
		t.Errorf("after rebuilding: %v %v", m, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// A newer database is refused; a migration that was another text too.
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("UPDATE checksums SET sum = 'x'"); err != nil {
		t.Fatal(err)
	}
	if _, err := OpenSQLite(ctx, path); err == nil || !strings.Contains(err.Error(), "another text") {
		t.Errorf("changed migration: %v", err)
	}
	if _, err := db.Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)"); err != nil {
		t.Fatal(err)
	}
	if _, err := OpenSQLite(ctx, path); err == nil || !strings.Contains(err.Error(), "newer program") {
		t.Errorf("newer database: %v", err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

func BenchmarkAppend(b *testing.B) {
	ctx := context.Background()
	s, err := OpenSQLite(ctx, filepath.Join(b.TempDir(), "x.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	n := 0
	for b.Loop() {
		n++
		if _, err := s.Append(ctx, "", nil, storetest.Event(5, n)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLoadMachine(b *testing.B) {
	ctx := context.Background()
	s, err := OpenSQLite(ctx, filepath.Join(b.TempDir(), "x.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	var events []record.Event
	for n := range 500 {
		events = append(events, storetest.Event(6, n+1))
	}
	if _, err := s.Append(ctx, "", nil, events...); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := s.MachineEvents(ctx, events[0].Machine); err != nil {
			b.Fatal(err)
		}
	}
}
