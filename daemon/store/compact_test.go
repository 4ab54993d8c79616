package store

import (
	"bytes"
	"database/sql"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"github.com/pressly/goose/v3"
	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// Whatever is measured comes back to the last bit.
func TestValuesComeBackToTheLastBit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := sensors.Reading{FromDevice: rapid.Bool().Draw(t, "from device"), Values: map[conditions.Variable]float64{}}
		for _, v := range append([]conditions.Variable{"new one", "é"}, codes...) {
			switch rapid.IntRange(0, 3).Draw(t, string(v)) {
			case 0:
				r.Values[v] = rapid.Float64().Draw(t, "any")
			case 1:
				r.Values[v] = float64(rapid.IntRange(-50000, 50000).Draw(t, "hundredths")) / 100
			case 2:
				r.Values[v] = rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), math.Copysign(0, -1), 0, 101325, 0.5}).Draw(t, "odd")
			}
		}
		packed := packValues(r)
		if again := packValues(r); !bytes.Equal(packed, again) {
			t.Fatalf("%v is written as %x, then as %x", r.Values, packed, again)
		}
		var back sensors.Reading
		if err := unpackValues(packed, &back); err != nil || back.FromDevice != r.FromDevice || len(back.Values) != len(r.Values) {
			t.Fatalf("%v of %v, %v", back, r, err)
		}
		for v, x := range r.Values {
			if y := back.Values[v]; math.Float64bits(x) != math.Float64bits(y) {
				t.Fatalf("%s: %v came back as %v", v, x, y)
			}
		}
		for n := range packed { // damage is an error, not a panic
			_ = unpackValues(packed[:n], &sensors.Reading{})
		}
	})
}

// The files that are out there were written so: each variable has its number for good, and the
// shortest of three forms. Reckoned by hand: number*3+form, then the value, least byte first.
func TestValuesAsTheyLieInFiles(t *testing.T) {
	t.Parallel()
	want := []byte{1} // the time is by the device
	values := map[conditions.Variable]float64{}
	for number, v := range []conditions.Variable{"air", "humidity", "dew_point", "wet_bulb", "surface", "wind", "gust", "rain", "rain_chance", "cloud", "shortwave", "pressure", "fan"} {
		values[v] = -1.5
		want = append(want, byte(number*3), 0x6a, 0xff)
	}
	values["pressure"], values["fan"] = 101325, 1.0/3 // as float32 (IEEE 754) 0x47C5E680, as float64 0x3FD5555555555555
	want = append(want[:len(want)-6], 11*3+1, 0x80, 0xe6, 0xc5, 0x47, 12*3+2, 0x55, 0x55, 0x55, 0x55, 0x55, 0x55, 0xd5, 0x3f)
	values["é"] = 1
	want = append(want, 63*3, 2, 0xc3, 0xa9, 100, 0)
	if got := packValues(sensors.Reading{FromDevice: true, Values: values}); !bytes.Equal(got, want) {
		t.Errorf("written as\n%x, want\n%x", got, want)
	}
}

// Any key comes back as it went, those that sensors.Key makes at a third of their length.
func TestKeysComeBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(0, rapid.Int64Range(0, 4e18).Draw(t, "at")).UTC().Truncate(rapid.SampledFrom([]time.Duration{1, time.Millisecond, time.Second}).Draw(t, "fine to"))
		r := sensors.Reading{Source: rapid.SampledFrom([]string{"hygro 1", "a", "a@b", ""}).Draw(t, "source"), At: at, Received: at,
			FromDevice: rapid.Bool().Draw(t, "from device"), Values: map[conditions.Variable]float64{conditions.Surface: 1}}
		sequence := rapid.SampledFrom([]string{"", "0/123"}).Draw(t, "sequence")
		key := sensors.Key(r, sequence)
		packed := packKey(key, r.Source, millis(r.At))
		if got := unpackKey(packed, r.Source, millis(r.At)); got != key {
			t.Fatalf("%q came back as %q", key, got)
		}
		if sequence == "" && r.Source != "" && len(packed) != 12 {
			t.Fatalf("%q takes %d bytes", key, len(packed))
		}
		other := rapid.String().Draw(t, "any key")
		if got := unpackKey(packKey(other, r.Source, millis(r.At)), r.Source, millis(r.At)); got != other {
			t.Fatalf("%q came back as %q", other, got)
		}
	})
}

// A key that looks like one of ours and is written otherwise comes back as it was written.
func TestOddKeysComeBack(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 4, 6, 12, 0, 0, 0, time.UTC)
	for _, key := range []string{
		"a@2026-04-06T12:00:00Z/0011223344556677", "a@2026-04-06T12:00:00Z/00112233AABBCCDD", "a@2026-04-06T12:00:00.000Z/0011223344556677",
		"a@2026-04-06T14:00:00+02:00/0011223344556677", "a@2026-04-06T12:00:01Z/0011223344556677", "a@2026-04-06T12:00:00Z/00112233",
		"a@2026-04-06T12:00:00Z/001122334455667788", "a@2026-04-06T12:00:00.123456789Z/0011223344556677", "a", "", "k", "a#", "a@", "a~/",
	} {
		if got := unpackKey(packKey(key, "a", millis(at)), "a", millis(at)); got != key {
			t.Errorf("%q came back as %q", key, got)
		}
	}
}

// The files that are out there know a reading again by its packed key: the same key is packed the
// same for good.
func TestKeysAsTheyLieInFiles(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 4, 6, 12, 0, 0, 5_066_051, time.UTC) // 66051 ns, 0x010203, beyond the millisecond
	for key, want := range map[string]string{
		"a#0/123": "#0/123",
		"a@2026-04-06T12:00:00.005066051Z/00112233445566ff": "@\x03\x02\x01\x00\x11\x22\x33\x44\x55\x66\xff",
		"a~2026-04-06T12:00:00.005066051Z/00112233445566ff": "~\x03\x02\x01\x00\x11\x22\x33\x44\x55\x66\xff",
		"another": "kanother",
	} {
		if got := string(packKey(key, "a", millis(at))); got != want {
			t.Errorf("%q is packed as %q, want %q", key, got, want)
		}
	}
}

// A key by number, whose time is that of receipt, is there once whenever it comes.
func TestANumberedKeyCountsOnce(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	r := reading(0)
	r.FromDevice, r.Key = false, sensors.Key(r, "0/77")
	commit(t, s, Change{Readings: []sensors.Reading{r}})
	r.At, r.Received = r.At.Add(time.Minute), r.Received.Add(time.Minute)
	if done := commit(t, s, Change{Readings: []sensors.Reading{r}}); done.Repeats != 1 || census(t, s).readings != 1 {
		t.Errorf("came again: %+v", done)
	}
}

// A file of the first making is brought up to date: every reading as it was, known by
// its key, and the next one numbered on.
func TestAnOlderFileIsMoved(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	full := reading(0)
	full.Boat, full.Raw, full.Flags = "Alder", "as it came", []sensors.Flag{{Of: conditions.Surface, Fault: sensors.Missing, Note: "null"}}
	full.Values[conditions.Surface] = math.Inf(1)
	old := older(t, dir, 2)
	tx, err := old.Begin()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tx.Exec(`INSERT INTO readings VALUES (1, ?, ?, ?, ?, ?, ?, 1, '{"air":18.25,"humidity":55,"surface":"+Inf"}', '[{"of":"surface","fault":"missing","note":"null"}]', ?)`,
		full.Key, full.Source, full.Place, full.Boat, millis(full.At), millis(full.Received), full.Raw); err != nil {
		t.Fatal(err)
	}
	for i := 1; i < convertChunk+10; i++ {
		r := reading(i)
		if _, err := tx.Exec(`INSERT INTO readings VALUES (?, ?, ?, ?, NULL, ?, ?, 1, '{"air":18.25,"humidity":55}', NULL, NULL)`,
			i+1, r.Key, r.Source, r.Place, millis(r.At), millis(r.Received)); err != nil {
			t.Fatal(err)
		}
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
	old.Close()
	s := open(t, dir)
	got, err := s.Readings(t.Context(), Query{})
	if err != nil || len(got) != convertChunk+10 {
		t.Fatalf("%d readings, %v", len(got), err)
	}
	full.ID = 1
	if want := reading(7); !reflect.DeepEqual(got[0], full) || got[7].Key != want.Key || got[7].ID != 8 || !reflect.DeepEqual(got[7].Values, want.Values) {
		t.Errorf("%+v\n%+v", got[0], got[7])
	}
	done := commit(t, s, Change{Readings: []sensors.Reading{reading(5), reading(convertChunk + 10)}})
	if done.Repeats != 1 || len(done.Readings) != 1 || done.Readings[0].ID != convertChunk+11 {
		t.Errorf("after it: %v", fmt.Sprint(done.Repeats, done.Readings))
	}
}

// older is the database of a folder as a program of that schema made it.
func older(t *testing.T, dir string, schema int64) *sql.DB {
	t.Helper()
	db, err := openPool(filepath.Join(dir, fileName), nil, 1)
	if err != nil {
		t.Fatal(err)
	}
	steps, err := fs.Sub(migrations, "migrations")
	if err != nil {
		t.Fatal(err)
	}
	made, err := goose.NewProvider(goose.DialectSQLite3, db, steps, goose.WithLogger(goose.NopLogger()), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := made.UpTo(t.Context(), schema); err != nil {
		t.Fatal(err)
	}
	return db
}
