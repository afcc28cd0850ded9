"""How much of a foreign file is read. A schedule of this trade is far below each of these; a hostile file is above."""

MIB = 1024 * 1024

FILE_BYTES = 64_000_000
# A door schedule of 20,000 rows unpacks to some 30 MiB of sheet text.
UNPACKED_BYTES = 256 * MIB
# Deflate can reach 1032:1; sheets of real schedules stay under 60:1.
UNPACKED_RATIO = 250
# Small parts may squeeze well without harm, so the ratio is only judged above this.
RATIO_JUDGED_FROM = 4 * MIB
ARCHIVE_PARTS = 2_000

ROWS = 100_000
COLUMNS = 200
# A reader lays a sheet out as a full rectangle, so one far cell costs as much as a full sheet.
CELLS = 2_000_000
CELL_CHARACTERS = 4_000
SHEETS = 60
# What the process that lays a workbook out may use; 2,000,000 cells, each another text, took 211 MiB.
READER_BYTES = 1024 * MIB
READER_SECONDS = 120

MODEL_BYTES = 256 * MIB
MODEL_DOORS = 50_000

# Columns of the schedule that no field takes are kept as they came, as far as this.
EXTRA_COLUMNS = 40
EXTRA_CHARACTERS = 200
