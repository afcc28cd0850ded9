"""Addresses of the floors: their drawing, their plan, and what is made of openings picked there."""

from django.urls import path

from sitetrack.desk import floor_pages, floor_plan_pages, floor_position_pages, list_pages, work_order_pages

FLOOR = "s/<slug:code>/floors/<uuid:floor_id>"
LIST = "s/<slug:code>/lists/<uuid:list_id>"

urlpatterns = [
    path("s/<slug:code>/floors", floor_pages.floors, name="floors"),
    path(FLOOR, floor_pages.floor, name="floor"),
    path(f"{FLOOR}/plan", floor_plan_pages.plan, name="floor-plan"),
    path(f"{FLOOR}/plan/picture", floor_plan_pages.picture, name="floor-picture"),
    path(f"{FLOOR}/plan/send", floor_plan_pages.send_picture, name="floor-plan-send"),
    path(f"{FLOOR}/plan/page", floor_plan_pages.another_page, name="floor-plan-page"),
    path(f"{FLOOR}/plan/scale", floor_plan_pages.scale, name="floor-plan-scale"),
    path(f"{FLOOR}/plan/away", floor_plan_pages.take_away, name="floor-plan-away"),
    path(f"{FLOOR}/plan/back", floor_plan_pages.put_back, name="floor-plan-back"),
    path(f"{FLOOR}/positions", floor_position_pages.set_down, name="floor-positions"),
    path(f"{FLOOR}/positions/back", floor_position_pages.take_back, name="floor-positions-back"),
    path(f"{FLOOR}/pick", list_pages.pick, name="floor-pick"),
    path(LIST, list_pages.walk, name="list"),
    path(f"{LIST}/order", work_order_pages.order, name="list-order"),
]
