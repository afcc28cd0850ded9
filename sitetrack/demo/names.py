"""The invented people and companies of the demo site. None of them exists; the addresses can't (RFC 2606)."""

from dataclasses import dataclass

from sitetrack.access.roles import Role, Trade

SITE_CODE = "quillmere"
SITE_NAME = "Quillmere Clinic"
TIME_ZONE = "America/Chicago"
DOMAIN = "quillmere.example"

# For trying things out on one's own machine only; the command refuses to load it in production.
DEMO_PASSWORD = "plumb-level-square"  # noqa: S105 - documented, and worth nothing outside the demo

BUILDER = "Brellmark Builders"
FRAMES = "Tolvane Frames and Doors"
WALLS = "Harrowick Wall Systems"
WIRING = "Sparrend Electric"
FINISHES = "Ondelay Finishes"
INSPECTION = "Verrick Inspection"
OWNER = "Quillmere Health Trust"


@dataclass(frozen=True, slots=True)
class Somebody:
    """A person of the demo: `key` is also the name part of the address."""

    key: str
    name: str
    company: str
    role: Role
    trades: tuple[Trade, ...] = ()
    language: str = "en"
    shown: str = ""

    @property
    def email(self) -> str:
        """The sign-in name."""
        return f"{self.key}@{DOMAIN}"


_FRAMES = (Trade.FRAME_CREW, Trade.DOOR_HANGER)
_WALLS = (Trade.FRAMING, Trade.DRYWALL)
_FINISHES = (Trade.PAINTER, Trade.FLOORING)

# `shown`: what the demo prints beside the login; those without one never need to sign in.
PEOPLE: tuple[Somebody, ...] = (
    Somebody("ingrid", "Ingrid Solvang", BUILDER, Role.SUPERVISOR, (Trade.SUPERVISOR,), shown="supervisor"),
    Somebody("kofi", "Kofi Brentuo", INSPECTION, Role.INSPECTOR, (Trade.INSPECTOR,), shown="inspector"),
    Somebody("miriam", "Miriam Castellane", OWNER, Role.VIEWER, shown="viewer, the owner"),
    Somebody("rogelio", "Rogelio Tzunux", FRAMES, Role.CREW, _FRAMES, "es", shown="frame crew, in Spanish"),
    Somebody("yesenia", "Yesenia Cabrajal", FRAMES, Role.CREW, _FRAMES, "es"),
    Somebody("dmitri", "Dmitri Volokhin", FRAMES, Role.CREW, _FRAMES),
    Somebody("aurelio", "Aurelio Pech Zavalgo", WALLS, Role.CREW, _WALLS, "es"),
    Somebody("owen", "Owen Prythergh", WALLS, Role.CREW, _WALLS),
    Somebody("efrain", "Efraín Xicaroa", WALLS, Role.CREW, _WALLS, "es", shown="drywall, in Spanish"),
    Somebody("temo", "Temo Barrazueta", WALLS, Role.CREW, _WALLS, "es"),
    Somebody("noura", "Noura El-Bassani", WALLS, Role.CREW, _WALLS),
    Somebody("priyal", "Priyal Deshvane", WIRING, Role.CREW, (Trade.ELECTRICIAN,), shown="electrician"),
    Somebody("tomasz", "Tomasz Wierzchola", FINISHES, Role.CREW, _FINISHES, shown="painter"),
    Somebody("leilani", "Leilani Kahoʻolewa", FINISHES, Role.CREW, _FINISHES),
)
BY_KEY = {person.key: person for person in PEOPLE}
SUPERVISOR = "ingrid"
INSPECTOR = "kofi"
OFFICE = "noura"  # whose program pushes over the API
