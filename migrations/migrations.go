// Package migrations holds the steps that bring a database to the shape this program needs: NNNN_name.sql files, applied in
// order and never edited afterwards. store/sqlite applies them.
package migrations

import "embed"

// FS holds the files.
//
//go:embed *.sql
var FS embed.FS
