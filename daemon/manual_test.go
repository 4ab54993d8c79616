package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"go.yaml.in/yaml/v4"

	"fairwindow/config/file"
)

// Each command that the README or a help prints exists, and takes the arguments and flags
// that it is printed with.
func TestPrintedCommands(t *testing.T) {
	readMe := readMe(t)
	printed := regexp.MustCompile(`(?m)^    (?:\./)?fairwindow (.*)$`).FindAllStringSubmatch(readMe, -1)
	inText := regexp.MustCompile("`(?:\\./)?fairwindow\\s([^`]*)`").FindAllStringSubmatch(readMe, -1)
	if len(printed) < 25 || len(inText) < 1 {
		t.Fatalf("only %d and %d commands found in the README", len(printed), len(inText))
	}
	for _, c := range append(printed, inText...) {
		takes(t, "README", c[1])
	}
	var walk func(*cobra.Command)
	walk = func(c *cobra.Command) {
		if c.HasParent() && c.Example == "" {
			t.Errorf("%s has no example", c.CommandPath())
		}
		for line := range strings.Lines(c.Example) {
			for part := range strings.SplitSeq(line, "&&") {
				takes(t, c.CommandPath()+" --help", strings.TrimPrefix(strings.TrimSpace(part), "fairwindow "))
			}
		}
		for _, sub := range c.Commands() {
			if !sub.Hidden && sub.Name() != "help" {
				walk(sub)
			}
		}
	}
	walk(commands())
}

// takes parses a command without running it.
func takes(t *testing.T, where, line string) {
	t.Helper()
	line, _, _ = strings.Cut(line, "  #")
	line, _, _ = strings.Cut(line, " > ")
	var args []string
	for _, word := range regexp.MustCompile(`"[^"]*"|'[^']*'|\S+`).FindAllString(line, -1) {
		args = append(args, strings.Trim(word, `"'`))
	}
	c, rest, err := commands().Find(args)
	if err == nil {
		err = c.ParseFlags(rest)
	}
	if err == nil {
		err = c.ValidateArgs(c.Flags().Args())
	}
	if err != nil || !c.Runnable() {
		t.Errorf("%s prints %q: %v", where, line, err)
	}
}

// Each part of a yard file that the README shows is right in the starter yard, in the place
// of what stands there.
func TestPrintedYard(t *testing.T) {
	starter, _ := file.Starter()
	var shown int
	for _, block := range regexp.MustCompile(`(?m)^    [a-z_]+:(?: .*)?\n(?:    .*\n)*`).FindAllString(readMe(t), -1) {
		block = regexp.MustCompile(`(?m)^    `).ReplaceAllString(block, "")
		var keys map[string]any
		if err := yaml.Unmarshal([]byte(block), &keys); err != nil {
			continue // a command's answer
		}
		shown++
		rest := string(starter)
		for key := range keys {
			rest = regexp.MustCompile(`(?m)^`+key+`:.*\n(?:[ #].*\n|\n)*`).ReplaceAllString(rest, "")
		}
		if _, mistakes := file.Yard("README.md", []byte(block+rest)); len(mistakes) > 0 {
			t.Errorf("%s\n%v", block, mistakes)
		}
	}
	if shown != 3 {
		t.Errorf("the README shows %d parts of a yard file", shown)
	}
}

func readMe(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(projectTop(t), "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
