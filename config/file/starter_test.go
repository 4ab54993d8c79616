package file_test

import (
	"testing"

	"fairwindow/config/file"
)

func TestStarterHasNoMistakes(t *testing.T) {
	yardText, boatText := file.Starter()
	yard, mistakes := file.Yard("yard.yaml", yardText)
	if len(mistakes) > 0 {
		t.Fatalf("the starter yard:\n%s", mistakes.Error())
	}
	boats, mistakes := file.BoatsFor(yard, "boats.yaml", boatText)
	if len(mistakes) > 0 {
		t.Fatalf("the starter boats:\n%s", mistakes.Error())
	}
	if len(yard.Places) != 8 || len(yard.Crews) != 4 || len(boats) != 6 {
		t.Errorf("got %d places, %d crews, %d boats; want 8, 4, 6", len(yard.Places), len(yard.Crews), len(boats))
	}
}
