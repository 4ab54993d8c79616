package file_test

import (
	"strings"
	"testing"

	"fairwindow/config/file"
)

// The starter yard's example of people is commented out: uncommented it is right, and
// the schema says so too.
func TestStarterPeople(t *testing.T) {
	starter, _ := file.Starter()
	text := string(starter)
	from := strings.Index(text, "# mail: {server")
	to := from + strings.Index(text[from:], "\n\n")
	if from < 0 || to <= from {
		t.Fatal("the starter has no example of people")
	}
	example := strings.TrimPrefix(strings.ReplaceAll(text[from:to], "\n# ", "\n"), "# ")
	text = text[:from] + example + text[to:]
	yard, mistakes := file.Yard("yard.yaml", []byte(text))
	if len(mistakes) > 0 {
		t.Fatalf("%s", mistakes.Error())
	}
	ines, ok := yard.Person("Ines")
	if !ok || len(yard.People) != 2 || !ines.Push || ines.Next != "Rui" || len(ines.Quiet) != 1 || yard.Mail.User != "yard" {
		t.Errorf("got %+v and %+v", yard.People, yard.Mail)
	}
	schema, _ := compiled(t)
	if err := schema.Validate(asJSON(t, []byte(text))); err != nil {
		t.Error(err)
	}
	for _, wrong := range [][2]string{{"push: true", "push: often"}, {"length: 11 h", "length: all night"}, {"after: 15 min", "afterwards: 15 min"}} {
		if !strings.Contains(text, wrong[0]) {
			t.Fatalf("no %q in the example", wrong[0])
		}
		if schema.Validate(asJSON(t, []byte(strings.Replace(text, wrong[0], wrong[1], 1)))) == nil {
			t.Errorf("the schema takes %q", wrong[1])
		}
	}
}
