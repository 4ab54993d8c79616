package service

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"github.com/google/renameio/v2"
)

// TokenFile is the file, in the state folder, with the token for POST
// /v1/readings when the yard file names none.
const TokenFile = "token"

// DoorFile is the file, in the state folder, with the key by which the command line invites
// people: a sensor's gateway has the token, and must not be able to.
const DoorFile = "door.key"

// token is what posted readings must carry. One is made at the first start.
func (s *Service) token() (string, error) {
	if own := s.within(s.opt.Yard.Bus.Token); own != "" {
		return keptWord(own, false)
	}
	return keptWord(filepath.Join(s.opt.State, TokenFile), true)
}

// keptWord is the secret in a file of its own; one that is not there is made, if it may be.
func keptWord(path string, make bool) (string, error) {
	word, err := secretIn(path)
	switch {
	case err == nil && word == "":
		return "", fmt.Errorf("the token file %s is empty: put a long random word in it, or delete it", path)
	case err == nil:
		return strings.TrimSpace(word), nil
	case !errors.Is(err, fs.ErrNotExist) || !make:
		return "", fmt.Errorf("the token or key in %s: %w", path, err)
	}
	fresh := rand.Text()
	// Whole or not at all: half of one, left by a crash, would stop the next start.
	if err := renameio.WriteFile(path, []byte(fresh+"\n"), 0o600); err != nil {
		return "", fmt.Errorf("the secret %s can't be kept: %w", path, err)
	}
	return fresh, nil
}
