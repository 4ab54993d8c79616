package file_test

import (
	"strings"
	"testing"

	"fairwindow/config/file"
)

// What the starter shows of other ways in is right once the # is gone.
func TestStartersOtherWaysAreRight(t *testing.T) {
	schema, _ := compiled(t)
	starter, _ := file.Starter()
	before, rest, found := strings.Cut(string(starter), "# Other ways for readings to come in")
	_, rest, _ = strings.Cut(rest, "\n")
	ways, after, ends := strings.Cut(rest, "\n\n")
	if !found || !ends {
		t.Fatal("the starter shows no other ways")
	}
	var lines []string
	for line := range strings.Lines(ways) {
		if strings.HasPrefix(line, "#   ") || strings.HasPrefix(line, "# brokers:") { // else it explains
			line = strings.TrimPrefix(line, "# ")
		}
		lines = append(lines, line)
	}
	plain, _ := file.Yard("yard.yaml", starter)
	yard := before + strings.Join(lines, "") + "\n\n" + after
	if err := schema.Validate(asJSON(t, []byte(yard))); err != nil {
		t.Error(err)
	}
	got, mistakes := file.Yard("yard.yaml", []byte(yard))
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	more := got.Sensors[len(plain.Sensors):]
	if len(more) < 4 || more[3].Modbus == nil || more[3].Modbus.UnitID() != 3 || more[3].Values["humidity"].Registers() != 2 || more[2].File != "drop/*.csv" || more[1].Subject != "yard.tent.wall" {
		t.Fatalf("read as %+v", more)
	}
	if more[0].Broker != "dock" || more[0].Sequence != "count" || len(got.Brokers) != 1 || got.Brokers[0].Password != "dock-password" {
		t.Errorf("read as %+v and %+v", more, got.Brokers)
	}
}
