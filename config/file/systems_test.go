package file_test

import (
	"reflect"
	"strings"
	"testing"

	"fairwindow/config/file"
)

// A system that was handed out as YAML can be pasted into a yard file as it is.
func TestASystemPastedIntoAYardFile(t *testing.T) {
	text, _ := file.Starter()
	y, mistakes := file.Yard("yard.yaml", text)
	if mistakes.Err() != nil {
		t.Fatal(mistakes)
	}
	for _, s := range y.Systems {
		was := s
		s.Name += " of ours"
		written, err := file.WriteSystem(s)
		if err != nil {
			t.Fatal(err)
		}
		again, mistakes := file.Yard("yard.yaml", []byte(strings.Replace(string(text), "\nsystems:\n", "\nsystems:\n"+string(written), 1)))
		if mistakes.Err() != nil {
			t.Fatalf("%v\n%s", mistakes, written)
		}
		got, ok := again.System(s.Name)
		got.Name = was.Name
		if !ok || !reflect.DeepEqual(got, was) {
			t.Errorf("got %+v\nwant %+v\nfrom\n%s", got, was, written)
		}
	}
}
