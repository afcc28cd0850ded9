"""Draw one page of a PDF. Run as a program of its own: what is drawn comes from outside, and what breaks on it breaks
here and not in the server.

    python -P pdf_page.py PAGE LONGEST < file.pdf > answer

The answer is the number of pages as text, a line break, and the page as PNG, LONGEST pixels on its longer side.
Exit 3: not a PDF that can be read; 4: it has no such page (the number of pages is answered all the same).
"""

import resource
import sys

import pypdfium2

MOST_SECONDS = 20
MOST_MEMORY = 3 * 1024**3
MOST_PAGES = 2000


def main() -> int:
    """Read the file from standard input and answer."""
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    page, longest = int(sys.argv[1]), int(sys.argv[2])
    try:
        document = pypdfium2.PdfDocument(sys.stdin.buffer.read())
    except pypdfium2.PdfiumError:
        return 3
    pages = min(len(document), MOST_PAGES)
    sys.stdout.buffer.write(b"%d\n" % pages)
    if not 1 <= page <= pages:
        return 4
    drawn = document[page - 1]
    drawn.render(scale=longest / max(drawn.get_size())).to_pil().save(sys.stdout.buffer, "PNG", compress_level=1)
    return 0


if __name__ == "__main__":
    sys.exit(main())
