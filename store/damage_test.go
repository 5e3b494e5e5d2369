package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/store/storetest"
)

// flips is how many bits are turned over, one at a time, in a database and in a backup of it.
const flips = 100

// filled makes a data folder with two devices, a visit, a signature, a picture and what follows from them, and closes it.
func filled(t *testing.T) (dir string) {
	t.Helper()
	ctx := context.Background()
	dir = filepath.Join(t.TempDir(), "data")
	s, err := OpenSQLite(ctx, filepath.Join(dir, FileName))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	put := func(device string, site, machine, visit record.ID, k record.Kind, body any) {
		t.Helper()
		b, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		n++
		e := record.Event{
			ID: storetest.ID(40, n), Device: device, At: time.Date(2026, 3, 1, 6, n, 0, 0, time.UTC), By: "R. Lind", Site: site,
			Machine: machine, Visit: visit, Kind: k, Version: 1, Body: b,
		}
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
	}
	picture := record.NewBlob("image/jpeg", []byte(strings.Repeat("picture ", 700)))
	if err := s.PutBlobs(ctx, picture); err != nil {
		t.Fatal(err)
	}
	site, machine := storetest.ID(40, 9001), storetest.ID(40, 9002)
	put("van", site, "", "", record.SiteSaved, record.SiteBody{Name: "Kitchen"})
	put("van", site, machine, "", record.MachineSaved, record.MachineBody{
		Name: "Freezer", Refrigerant: "R-404A", Application: "walk-in freezer",
	})
	for v := range 3 {
		visit, device := storetest.ID(40, 9100+v), []string{"van", "phone"}[v%2]
		put(device, site, machine, visit, record.VisitOpened, record.OpenBody{Complaint: "warm"})
		for i := range 12 {
			put("phone", site, machine, visit, record.Noted, record.NoteBody{Text: fmt.Sprintf("note %d of visit %d", i, v)})
		}
		put("van", site, machine, visit, record.PhotoTaken, record.PhotoBody{
			Hash: picture.Hash, Type: picture.Type, Width: 4, Height: 3, Caption: "plate",
		})
		put(device, site, machine, visit, record.VisitClosed, record.CloseBody{Mechanic: "R. Lind"})
		put(device, site, machine, visit, record.SignedReport, record.SignBody{
			Role: record.Customer, Name: "Kitchen lead", How: record.SignTyped, Content: record.HashOf([]byte("report")),
		})
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

func flip(t *testing.T, from, to string, bit int64) {
	t.Helper()
	b, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	b[bit/8] ^= 1 << (bit % 8)
	if err := os.WriteFile(to, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

func size(t *testing.T, path string) int64 {
	t.Helper()
	i, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return i.Size()
}

// What is whole is called whole.
func TestVerify_Whole(t *testing.T) {
	ctx := context.Background()
	dir := filled(t)
	v, err := VerifySQLite(ctx, dir)
	if err != nil || !v.Whole() || v.Events != 50 || v.Contents != 1 || len(v.Heads) != 2 || len(v.Held) != 0 {
		t.Fatalf("%+v %v", v, err)
	}
	// Also while somebody works with it, after a backup came back, and after it was opened again.
	s, err := OpenSQLite(ctx, filepath.Join(dir, FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.Append(ctx, "", nil, storetest.Event(41, 1)); err != nil {
		t.Fatal(err)
	}
	if v, err := VerifySQLite(ctx, dir); err != nil || !v.Whole() || v.Events != 51 {
		t.Errorf("in use: %+v %v", v, err)
	}
	file, into := filepath.Join(t.TempDir(), "b"), filepath.Join(t.TempDir(), "again")
	made, err := Backup(ctx, dir, file, false)
	if err != nil || made.Events != 51 {
		t.Fatalf("%+v %v", made, err)
	}
	back, err := Restore(ctx, file, into, false)
	if err != nil || back.Events != 51 || back.Heads[0] != made.Heads[0] {
		t.Fatalf("%+v %v", back, err)
	}
	// Before its first start too, which makes its lists; and so what is made of it then comes back.
	if v, err := VerifySQLite(ctx, into); err != nil || !v.Whole() || v.Events != 51 || v.Older {
		t.Errorf("restored, not started: %+v %v", v, err)
	}
	unstarted := filepath.Join(t.TempDir(), "b")
	if _, err := Backup(ctx, into, unstarted, false); err != nil {
		t.Errorf("a backup of what was not started: %v", err)
	}
	if v, err := Restore(ctx, unstarted, filepath.Join(t.TempDir(), "third"), false); err != nil || v.Events != 51 {
		t.Errorf("restored twice: %+v %v", v, err)
	}
	r, err := OpenSQLite(ctx, filepath.Join(into, FileName))
	if err != nil {
		t.Fatal(err)
	}
	if r.Name() == s.Name() {
		t.Error("what was restored numbers its events like what it was taken from")
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	if v, err := VerifySQLite(ctx, into); err != nil || !v.Whole() {
		t.Errorf("restored: %+v %v", v, err)
	}
	if _, err := VerifySQLite(ctx, t.TempDir()); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("an empty folder: %v", err)
	}
}

// Every bit that turns over in a database that was closed is told; where it is in an event, a list or the pages, it is
// told which, also of a database that was left open.
func TestVerify_Flips(t *testing.T) {
	ctx := context.Background()
	dir := filled(t)
	path := filepath.Join(dir, FileName)
	rng := rand.New(rand.NewPCG(15, 4))
	told, named := 0, 0
	for range flips {
		bit := rng.Int64N(8 * size(t, path))
		work := t.TempDir()
		flip(t, path, filepath.Join(work, FileName), bit)
		v, err := VerifySQLite(ctx, work)
		if err != nil || !v.Whole() {
			named++
		}
		copyState(t, path, filepath.Join(work, FileName))
		if v, err = VerifySQLite(ctx, work); err != nil || !v.Whole() {
			told++
		} else {
			t.Errorf("bit %d of %d is not told", bit, 8*size(t, path))
		}
	}
	t.Logf("%d of %d told, %d of them by what they damaged", told, flips, named)
}

func copyState(t *testing.T, from, to string) {
	t.Helper()
	b, err := os.ReadFile(from + stateEnd)
	if err == nil {
		err = os.WriteFile(to+stateEnd, b, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// No backup with a bit turned over comes back.
func TestRestore_Flips(t *testing.T) {
	ctx := context.Background()
	dir, file := filled(t), filepath.Join(t.TempDir(), "b")
	if _, err := Backup(ctx, dir, file, false); err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(15, 5))
	n := size(t, file)
	for i := range flips {
		bit := rng.Int64N(8 * n)
		if i < 10 { // some in the line with the sum
			bit = 8*(n-int64(sumLine)) + rng.Int64N(int64(8*sumLine))
		}
		work := t.TempDir()
		flip(t, file, filepath.Join(work, "b"), bit)
		if _, err := Restore(ctx, filepath.Join(work, "b"), filepath.Join(work, "data"), false); fail.CodeOf(err) != fail.BadData {
			t.Errorf("bit %d of %d: %v", bit, 8*n, err)
		}
	}
}

// What somebody changes with a database's own tools is named, in a backup with its sum made again, and in a folder.
func TestVerify_Tampered(t *testing.T) {
	ctx := context.Background()
	dir, file := filled(t), filepath.Join(t.TempDir(), "b")
	if _, err := Backup(ctx, dir, file, false); err != nil {
		t.Fatal(err)
	}
	free := "DROP TRIGGER events_no_update; DROP TRIGGER events_no_delete; DROP TRIGGER blobs_no_update; DROP TRIGGER blobs_no_delete;"
	back := `CREATE TRIGGER events_no_update BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
CREATE TRIGGER events_no_delete BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
CREATE TRIGGER blobs_no_update BEFORE UPDATE ON blobs BEGIN SELECT RAISE(ABORT, 'blobs are append-only'); END;
CREATE TRIGGER blobs_no_delete BEFORE DELETE ON blobs BEGIN SELECT RAISE(ABORT, 'blobs are append-only'); END;`
	visit := string(storetest.ID(40, 9101))
	for what, q := range map[string]string{
		"a visit deleted":          "DELETE FROM events WHERE visit = '" + visit + "'; DELETE FROM things WHERE id = '" + visit + "'",
		"the last event deleted":   `DELETE FROM events WHERE arrival = (SELECT MAX(arrival) FROM events)`,
		"the first event deleted":  `DELETE FROM events WHERE arrival = 1`,
		"another signer":           `UPDATE events SET body = replace(body, 'Kitchen lead', 'Kitchen help') WHERE kind = 'report_signed'`,
		"another day":              `UPDATE events SET at = '2026-02-01T06:09:00.000000000Z' WHERE arrival = 9`,
		"another author":           `UPDATE events SET actor = 'nobody' WHERE arrival = 9`,
		"another order":            `UPDATE events SET tick = tick + 86400000000000 WHERE arrival = 9`,
		"two events changed about": `UPDATE events SET arrival = 1000 WHERE arrival = 9`,
		"an event of its own": `INSERT INTO events SELECT 999, '01900000-0000-7000-8000-004099999999', device, seq + 1, at, actor, site, machine,
			visit, kind, version, corrects, body, tick + 1, link FROM events WHERE arrival = 9`,
		"a hostile trigger":     `CREATE TRIGGER more AFTER INSERT ON events BEGIN DELETE FROM forms; END`,
		"another picture":       `UPDATE blobs SET bytes = CAST(replace(CAST(bytes AS TEXT), 'picture', 'PICTURE') AS BLOB)`,
		"no picture":            `DELETE FROM blobs`,
		"the heads moved":       `UPDATE heads SET events = events - 1`,
		"a card made up":        `UPDATE cards SET name = 'Chiller'`,
		"an event out of sight": `INSERT INTO quarantine SELECT id, machine, site FROM events WHERE arrival = 9`,
		"a search that hides":   `DELETE FROM words WHERE word LIKE 'kit%'`,
		"the guard taken away":  `DROP TRIGGER events_no_update`,
	} {
		if what != "the guard taken away" {
			q = free + q + ";" + back
		}
		work := t.TempDir()
		whole, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		other := filepath.Join(work, FileName)
		if err := os.WriteFile(other, whole[:len(whole)-sumLine], 0o600); err != nil {
			t.Fatal(err)
		}
		run(t, other, q)
		v, err := VerifySQLite(ctx, work)
		if err != nil || v.Whole() {
			t.Errorf("%s is not told: %v", what, err)
		}
		sum, err := sumOf(other)
		if err != nil {
			t.Fatal(err)
		}
		if err := appendTo(other, sumBefore+sum+"\n"); err != nil {
			t.Fatal(err)
		}
		_, err = Restore(ctx, other, filepath.Join(work, "data"), false)
		refused(t, err, fail.BadData, "backup.altered")
		if testing.Verbose() {
			t.Logf("%s: %v", what, err)
		}
	}
}

// A log that is lost is said at the next start, and by verify before it.
func TestOpenSQLite_LostLog(t *testing.T) {
	ctx := context.Background()
	dir := filled(t)
	path := filepath.Join(dir, FileName)
	s, err := OpenSQLite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(ctx, "", nil, storetest.Event(42, 1)); err != nil {
		t.Fatal(err)
	}
	// As after a crash, without the log.
	work := t.TempDir()
	for _, end := range []string{"", stateEnd} {
		if err := copyFile(path+end, filepath.Join(work, FileName+end)); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	v, err := VerifySQLite(ctx, work)
	if err != nil || len(v.Damage) != 1 || v.Damage[0].What.Key != "verify.log" || v.Damage[0].Since.IsZero() {
		t.Errorf("%+v %v", v.Damage, err)
	}
	for _, want := range []int{1, 0} { // once
		s, err := OpenSQLite(ctx, filepath.Join(work, FileName))
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Warnings()) != want {
			t.Errorf("%v, want %d", s.Warnings(), want)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// A database of before is chained where it stands, in its order; what means nothing is kept and does not count.
func TestOpenSQLite_Before(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	path := filepath.Join(dir, FileName)
	old(t, path, 300)
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	before, err := column[string](
		ctx, db, "SELECT id FROM events WHERE machine = $1 AND kind = 'noted' ORDER BY at, device, seq, id", string(storetest.ID(43, 2)),
	)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	s, err := OpenSQLite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	all, err := s.MachineEvents(ctx, storetest.ID(43, 2))
	if err != nil {
		t.Fatal(err)
	}
	var after []string
	for _, e := range all {
		if e.Kind == record.Noted {
			after = append(after, string(e.ID))
		}
	}
	if strings.Join(before, " ") != strings.Join(after, " ") || len(after) != 300 {
		t.Errorf("%d events, %d before; the order is another", len(after), len(before))
	}
	held, err := s.Quarantine(ctx, "", 10)
	if err != nil || len(held) != 2 || held[0].Why == nil || fail.CodeOf(held[0].Why) == fail.Internal {
		t.Fatalf("in quarantine: %+v %v", held, err)
	}
	if of, err := s.Quarantine(ctx, storetest.ID(43, 2), 10); err != nil || len(of) != 2 {
		t.Errorf("of the machine: %+v %v", of, err)
	}
	// What is decided on what counts goes through.
	e := storetest.Event(43, 5000)
	e.Machine = storetest.ID(43, 2)
	if _, err := s.Append(ctx, "", []app.Mark{{Machine: e.Machine, Events: len(all)}}, e); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if v, err := VerifySQLite(ctx, dir); err != nil || !v.Whole() || len(v.Held) != 2 || v.Events != 304 {
		t.Errorf("%d events, %d held, damage %+v, %v", v.Events, len(v.Held), v.Damage, err)
	}
}

// old makes a database as the version before the chain left it: notes at times that go to and fro, numbers that repeat,
// a plate, and two events that mean nothing.
func old(t *testing.T, path string, notes int) {
	t.Helper()
	names := []string{"00001_events.sql", "00002_lists.sql", "00003_blobs.sql", "00004_seq.sql"}
	var q strings.Builder
	q.WriteString(`CREATE TABLE goose_db_version (
		id INTEGER PRIMARY KEY AUTOINCREMENT,
		version_id INTEGER NOT NULL,
		is_applied INTEGER NOT NULL,
		tstamp TIMESTAMP DEFAULT (datetime('now'))
	);
	INSERT INTO goose_db_version (version_id, is_applied) VALUES (0, 1);`)
	for i, n := range names {
		b, err := migrations.ReadFile("migrations/sqlite/" + n)
		if err != nil {
			t.Fatal(err)
		}
		up, _, _ := strings.Cut(string(b), "-- +goose Down")
		q.WriteString(up)
		fmt.Fprintf(&q, "INSERT INTO goose_db_version (version_id, is_applied) VALUES (%d, 1);", i+1)
	}
	rng := rand.New(rand.NewPCG(15, 6))
	row := func(n int, at time.Time, device string, seq int, kind, body string) {
		visit := storetest.ID(43, 3)
		if kind == "machine_saved" {
			visit = ""
		}
		fmt.Fprintf(&q, `INSERT INTO events (id, device, seq, at, actor, site, machine, visit, kind, version, corrects, body)
			VALUES ('%s', '%s', %d, '%s', '', '%s', '%s', '%s', '%s', 1, '', '%s');`,
			storetest.ID(43, n), device, seq, at.Format(timeText), storetest.ID(43, 1), storetest.ID(43, 2), visit, kind, body)
	}
	day := time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)
	row(10, day, "van", 1, "machine_saved", `{"name":"Freezer","refrigerant":"R-404A","application":"walk-in freezer"}`)
	row(11, day, "van", 2, "pulldown_started", `{"set_point_k":1e308,"phase":"before"}`)
	far := time.Date(2999, 1, 1, 0, 0, 0, 0, time.UTC)
	row(12, far, "van", 3, "machine_saved", `{"name":"X","refrigerant":"R-404A","application":"walk-in freezer"}`)
	for n := range notes {
		row(100+n, day.Add(time.Duration(rng.IntN(5000))*time.Second), []string{"van", "phone"}[rng.IntN(2)], rng.IntN(50), "noted",
			fmt.Sprintf(`{"text":"note  %d"}`, n))
	}
	run(t, path, q.String())
}
