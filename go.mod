module swardbook

go 1.26.0
