module sizerun

go 1.26
