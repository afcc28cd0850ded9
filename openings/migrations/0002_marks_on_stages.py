"""What stages mean is written on them as marks, where it was told from their codes before."""

from django.db import migrations

# The codes that the alerts and the drawings went by, and whether the mark belongs on a check.
BY_CODE = {
    "ffl": ("confirms_floor", True),
    "set": ("stands_frame", False),
    "anchor": ("anchors_frame", False),
    "courses": ("anchors_frame", False),
    "trueness": ("proves_open_wall", True),
    "recheck": ("proves_closed_wall", True),
    "hang": ("hangs_leaf", False),
}
SPREADERS = "spreaders_in"


def put_marks(apps, schema_editor):
    for plan in apps.get_model("openings", "SequencePlan").objects.iterator():
        plan.stages = [marked(stage) for stage in plan.stages]
        plan.save(update_fields=["stages"])


def take_marks_off(apps, schema_editor):
    for plan in apps.get_model("openings", "SequencePlan").objects.iterator():
        plan.stages = [unmarked(stage) for stage in plan.stages]
        plan.save(update_fields=["stages"])


def marked(stage):
    is_check = stage.get("kind") == "check"
    mark, of_check = BY_CODE.get(stage.get("code"), ("", False))
    marks = list(stage.get("marks", ()))
    marks += [mark] if mark and of_check == is_check and mark not in marks else []
    marks += ["closes_wall"] if stage.get("closes_wall") and not is_check and "closes_wall" not in marks else []
    checklist = [
        {**item, "proves_spreaders": True} if item.get("code") == SPREADERS else item
        for item in stage.get("checklist", ())
    ]
    kept = {name: value for name, value in stage.items() if name != "closes_wall"}
    return kept | ({"marks": marks} if marks else {}) | ({"checklist": checklist} if checklist else {})


def unmarked(stage):
    kept = {name: value for name, value in stage.items() if name != "marks"}
    kept["checklist"] = [
        {name: value for name, value in item.items() if name != "proves_spreaders"}
        for item in stage.get("checklist", ())
    ]
    return kept | ({"closes_wall": True} if "closes_wall" in stage.get("marks", ()) else {})


class Migration(migrations.Migration):
    dependencies = [("openings", "0001_initial")]

    operations = [migrations.RunPython(put_marks, take_marks_off)]
