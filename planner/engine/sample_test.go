package engine

import "flag"

var sample = flag.Int("sample", 1, "take every so manieth published instance only")
