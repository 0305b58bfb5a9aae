package sqlite_test

import (
	"testing"

	"go.uber.org/goleak"
)

// TestMain fails when anything still runs after all tests have ended what they began.
func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }
