"""Pages at the rack, of jobs, of buying and of spend."""

from django.urls import path, re_path

from jobs.views import bench, books, buying, costs, home, jobs, parts, plans, saw, scanning

urlpatterns = [
    path("", home.home, name="home"),
    # At the rack. A label's QR is upper case, so that it stays small; both cases answer.
    path("scan", scanning.scan, name="scan"),
    path("scan/find", scanning.scan_find, name="scan-find"),
    path("scan/part", scanning.scan_part, name="scan-part"),
    re_path(r"^[sS]/(?P<code>[^/]{1,60})$", scanning.scanned, name="scanned"),
    path("stock/<str:code>", bench.piece, name="piece"),
    path("stock/<str:code>/pull", bench.pull, name="pull"),
    path("stock/<str:code>/put-back", bench.put_back, name="put-back"),
    path("stock/<str:code>/move", bench.move, name="move"),
    path("stock/<str:code>/cut", bench.cut, name="cut"),
    path("stock/<str:code>/scrap", bench.scrap, name="scrap"),
    path("stock/<str:code>/lose", bench.lose, name="lose"),
    path("stock/<str:code>/find", bench.find, name="find"),
    path("stock/<str:code>/hold", bench.hold, name="hold"),
    path("stock/<str:code>/release", bench.release, name="release"),
    path("movements/<int:pk>/undo", bench.undo, name="undo"),
    # Jobs.
    path("jobs", jobs.jobs, name="jobs"),
    path("jobs/new", jobs.job_new, name="job-new"),
    path("jobs/<str:number>", jobs.job, name="job"),
    path("jobs/<str:number>/edit", jobs.job_edit, name="job-edit"),
    path("jobs/<str:number>/finish", jobs.finish, name="job-finish"),
    path("jobs/<str:number>/parts", parts.parts, name="parts"),
    path("jobs/<str:number>/parts/read", parts.read, name="parts-read"),
    path("jobs/<str:number>/parts/check", parts.check, name="parts-check"),
    path("jobs/<str:number>/parts/export.<str:kind>", parts.export, name="parts-export"),
    path("jobs/<str:number>/parts/new", parts.part_new, name="part-new"),
    path("jobs/<str:number>/parts/<int:pk>", parts.part_edit, name="part"),
    path("jobs/<str:number>/parts/<int:pk>/remove", parts.part_remove, name="part-remove"),
    path("jobs/<str:number>/plan", plans.plan, name="plan"),
    path("jobs/<str:number>/plan/ask", plans.ask, name="plan-ask"),
    path("jobs/<str:number>/plan/progress", plans.progress, name="plan-progress"),
    path("jobs/<str:number>/plan/stop", plans.stop, name="plan-stop"),
    path("jobs/<str:number>/plan/accept", plans.accept, name="plan-accept"),
    path("jobs/<str:number>/plan/give-up", plans.give_up, name="plan-give-up"),
    path("jobs/<str:number>/plan.pdf", plans.pdf, name="plan-pdf"),
    path("jobs/<str:number>/saw", saw.saw, name="saw"),
    path("jobs/<str:number>/saw/<int:pk>/cut", saw.cut_layout, name="cut-layout"),
    path("jobs/<str:number>/spoil/<int:pk>", saw.spoil, name="spoil"),
    path("jobs/<str:number>/unspoil/<int:pk>", saw.unspoil, name="unspoil"),
    path("jobs/<str:number>/cost", costs.cost, name="cost"),
    path("jobs/<str:number>/goods", costs.goods, name="job-goods"),
    # Buying and spend.
    path("buying", buying.buying, name="buying"),
    path("buying/receive", buying.receive, name="buying-receive"),
    path("buying/<int:pk>/drop", buying.drop, name="buying-drop"),
    path("shop/audit", books.audit, name="audit"),
    path("spend", costs.spend, name="spend"),
    path("spend/export.<str:kind>", costs.spend_export, name="spend-export"),
]
