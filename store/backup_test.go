package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/store/storetest"
)

// A backup taken while others write holds everything acknowledged before it began, and every event byte for byte.
func TestBackup_WhileWriting(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	data, file := filepath.Join(dir, "data"), filepath.Join(dir, "copy.coldwright")
	s, err := OpenSQLite(ctx, filepath.Join(data, FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	put := func(n int) record.ID {
		a, b := storetest.Event(7, 2*n+1), storetest.Event(7, 2*n+2)
		a.Body = []byte(`{"text":"é  kept as  it is"}`) // spaces and letters are not made anew
		if _, err := s.Append(ctx, "", nil, a, b); err != nil {
			t.Error(err)
		}
		return b.ID
	}
	for n := range 40 {
		put(n)
	}
	stop, started := make(chan struct{}), make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		for n := 40; ; n++ {
			put(n)
			if n == 45 {
				close(started)
			}
			select {
			case <-stop:
				return
			default:
			}
		}
	})
	<-started
	before, _, err := s.Since(ctx, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Backup(ctx, data, file, false); err != nil {
		t.Fatal(err)
	}
	close(stop)
	wg.Wait()
	into := filepath.Join(dir, "new", "folder")
	if _, err := Restore(ctx, file, into, false); err != nil {
		t.Fatal(err)
	}
	r, err := OpenSQLite(ctx, filepath.Join(into, FileName))
	if err != nil {
		t.Fatal(err)
	}
	got, _, err := r.Since(ctx, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	all, _, err := s.Since(ctx, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	if len(before) < 92 || len(got) < len(before) || len(got)%2 != 0 || len(all) < len(got) {
		t.Fatalf("%d events before, %d in the backup, %d at the end", len(before), len(got), len(all))
	}
	for i := range got {
		a, errA := json.Marshal(all[i])
		b, errB := json.Marshal(got[i])
		if errA != nil || errB != nil || string(a) != string(b) || string(all[i].Body) != string(got[i].Body) {
			t.Fatalf("event %d: %s, was %s", i, b, a)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*", ".coldwright-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	// A folder that is not empty wants a word; one that is in use wants its program ended.
	refused(t, errOf(Restore(ctx, file, into, false)), fail.Conflict, "backup.not_empty")
	refused(t, errOf(Restore(ctx, file, into, true)), fail.Conflict, "backup.in_use")
	e := storetest.Event(8, 1)
	if _, err := r.Append(ctx, "", nil, e); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(ctx, file, into, true); err != nil {
		t.Fatal(err)
	}
	count := func(path string) int {
		t.Helper()
		s, err := OpenSQLite(ctx, path)
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		all, _, err := s.Since(ctx, 0, 1<<20)
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	if n := count(filepath.Join(into, FileName)); n != len(got) {
		t.Errorf("%d events after restoring again, want %d", n, len(got))
	}
	aside, err := filepath.Glob(filepath.Join(into, FileName+".before-restore-*"))
	if err != nil || len(aside) != 1 {
		t.Fatalf("the old database: %v %v", aside, err)
	}
	if n := count(aside[0]); n != len(got)+1 {
		t.Errorf("the old database holds %d events, want %d", n, len(got)+1)
	}
}

func refused(t *testing.T, err error, code fail.Code, says string) {
	t.Helper()
	if fail.CodeOf(err) != code || !strings.Contains(err.Error(), says) {
		t.Errorf("got %v (%v), want %q", err, fail.CodeOf(err), says)
	}
}

func TestBackup_Refused(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	refused(t, errOf(Backup(ctx, dir, filepath.Join(dir, "x"), false)), fail.NotFound, "backup.none")
	refused(t, errOf(Restore(ctx, filepath.Join(dir, "none"), filepath.Join(dir, "new"), false)), fail.NotFound, "backup.cannot_read")
	data, file := filepath.Join(dir, "data"), filepath.Join(dir, "b")
	s, err := OpenSQLite(ctx, filepath.Join(data, FileName))
	if err != nil {
		t.Fatal(err)
	}
	for n := range 300 {
		if _, err := s.Append(ctx, "", nil, storetest.Event(9, n+1)); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Backup(ctx, data, file, false); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	write := func(name string, b []byte) string {
		t.Helper()
		name = filepath.Join(dir, name)
		if err := os.WriteFile(name, b, 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	into := filepath.Join(dir, "into")
	refused(
		t,
		errOf(Restore(ctx, write("text", []byte("this is no database, only a text that is longer than a header would be")), into, false)),
		fail.BadData,
		"backup.damaged",
	)
	refused(t, errOf(Restore(ctx, write("half", whole[:len(whole)/2]), into, false)), fail.BadData, "backup.damaged")
	torn := append([]byte{}, whole...)
	for i := len(torn) / 3; i < len(torn)/3+9000; i++ {
		torn[i] ^= 0x5a
	}
	refused(t, errOf(Restore(ctx, write("torn", torn), into, false)), fail.BadData, "backup.sum")
	other := filepath.Join(dir, "other")
	run(t, other, "CREATE TABLE a (b TEXT)")
	refused(t, errOf(Restore(ctx, other, into, false)), fail.BadData, "backup.no_database")
	newer := write("newer", whole[:len(whole)-sumLine])
	run(t, newer, "INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)")
	refused(t, errOf(Restore(ctx, newer, into, false)), fail.BadData, "backup.newer (known=")
	// Nothing of all this was left in the folder.
	if left, err := os.ReadDir(into); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
	// A damaged database is replaced with --force, and kept.
	if err := os.WriteFile(filepath.Join(into, FileName), []byte(strings.Repeat("damaged ", 900)), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(ctx, file, into, true); err != nil {
		t.Error(err)
	}
	if kept, _ := filepath.Glob(filepath.Join(into, "*.before-restore-*")); len(kept) != 1 {
		t.Errorf("the damaged file is not kept: %v", kept)
	}
}

// Pictures and files go into a backup and come back whole, and damage to one is noticed.
func TestBackup_Contents(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	data, file, into := filepath.Join(dir, "data"), filepath.Join(dir, "copy.coldwright"), filepath.Join(dir, "new")
	s, err := OpenSQLite(ctx, filepath.Join(data, FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var want []record.Blob
	for n := range 30 {
		b := make([]byte, 1+n*n*900)
		for i := range b {
			b[i] = byte(i*i>>3 + n)
		}
		want = append(want, record.NewBlob("image/jpeg", b))
		if err := s.PutBlobs(ctx, want[n]); err != nil {
			t.Fatal(err)
		}
		e := storetest.Event(14, n+1)
		e.Kind, e.Body = record.PhotoTaken, []byte(`{"hash":"`+want[n].Hash+`","type":"image/jpeg","width":1,"height":1}`)
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := Backup(ctx, data, file, false); err != nil {
		t.Fatal(err)
	}
	if _, err := Restore(ctx, file, into, false); err != nil {
		t.Fatal(err)
	}
	r, err := OpenSQLite(ctx, filepath.Join(into, FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for _, b := range want {
		got, err := r.Blob(ctx, b.Hash)
		if err != nil || got.Type != b.Type || !bytes.Equal(got.Bytes, b.Bytes) {
			t.Errorf("%d bytes came back as %d: %v", len(b.Bytes), len(got.Bytes), err)
		}
	}
	if all, _, err := r.Since(ctx, 0, 100); err != nil || len(all) != len(want) {
		t.Errorf("%d events, %v", len(all), err)
	}
	for _, q := range []string{"DROP TRIGGER blobs_no_update", "UPDATE blobs SET bytes = x'00', size = 1 WHERE hash = '" + want[3].Hash +
		"'"} {
		if _, err := r.write.ExecContext(ctx, q); err != nil {
			t.Fatal(err)
		}
	}
	_, err = r.Blob(ctx, want[3].Hash)
	refused(t, err, fail.BadData, "blob.altered")
}

func errOf[T any](_ T, err error) error { return err }

func run(t *testing.T, path, q string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(q); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// A file of the first version gets its lists from the log when it is opened, and a copy beside it before that.
func TestSQLite_UpgradeBuildsLists(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), FileName)
	s, err := OpenSQLite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	e := storetest.Event(11, 1)
	site, machine := e, e
	site.ID, site.Kind, site.Machine, site.Visit, site.Body = storetest.ID(
		11,
		2,
	), record.SiteSaved, "", "", []byte(
		`{"name":"Old kitchen","altitude_m":0}`,
	)
	machine.ID, machine.Kind, machine.Visit, machine.Body = storetest.ID(
		11,
		3,
	), record.MachineSaved, "", []byte(
		`{"name":"Old freezer","refrigerant":"R-404A","application":"walk-in freezer"}`,
	)
	if _, err := s.Append(ctx, "", nil, site, machine, e); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// Back to what the first version knew.
	for _, q := range []string{
		"DROP INDEX events_kind", "DROP INDEX events_site_at", "DROP INDEX events_seq",
		"DROP TABLE cards", "DROP TABLE sites", "DROP TABLE docs", "DROP TABLE words",
		"DROP TABLE blobs", "DROP TABLE heads", "DROP TABLE quarantine",
		"ALTER TABLE events DROP COLUMN link", "ALTER TABLE events DROP COLUMN tick",
		"DELETE FROM goose_db_version WHERE version_id > 1", "DELETE FROM checksums WHERE name <> '00001_events.sql'",
	} {
		run(t, path, q)
	}
	// A backup of it says that it is of an older program, and only such a one does.
	file := filepath.Join(t.TempDir(), "old")
	if v, err := Backup(ctx, filepath.Dir(path), file, false); err != nil || !v.Older {
		t.Errorf("backup: %+v %v", v, err)
	}
	if v, err := Restore(ctx, file, t.TempDir(), false); err != nil || !v.Older {
		t.Errorf("restored: %+v %v", v, err)
	}
	if s, err = OpenSQLite(ctx, path); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	cards, total, err := s.Cards(ctx, app.CardQuery{Limit: 5})
	if err != nil || total != 1 || cards[0].Body.Name != "Old freezer" || cards[0].Site.Name != "Old kitchen" || cards[0].Open == nil {
		t.Errorf("%+v %v", cards, err)
	}
	if docs, err := s.Search(ctx, app.Terms("old"), 0, 9); err != nil || len(docs) != 3 {
		t.Errorf("%+v %v", docs, err)
	}
	if kept, err := filepath.Glob(path + ".before-2-*"); err != nil || len(kept) != 1 {
		t.Errorf("the copy before: %v %v", kept, err)
	}
	// Lists of another version of the program are made again as well.
	if _, err := s.write.ExecContext(ctx, "UPDATE checksums SET sum = 'older' WHERE name = 'lists'"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.write.ExecContext(ctx, "DELETE FROM words"); err != nil {
		t.Fatal(err)
	}
	again, err := OpenSQLite(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	if docs, err := again.Search(ctx, app.Terms("old"), 0, 9); err != nil || len(docs) != 3 {
		t.Errorf("made again: %+v %v", docs, err)
	}
}
