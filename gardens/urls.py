"""Addresses of this room."""

from django.urls import path

from gardens.views import designer, photos, places, practice, rules, site_year, sites, stations, supports, trees

urlpatterns = [
    path("rules/", rules.index, name="rules"),
    path("rules/practice/", practice.practice, name="practice"),
    path("rules/practice/keep/", practice.keep, name="practice-keep"),
    path("rules/practice/usual/", practice.usual, name="practice-usual"),
    path("rules/species/<slug:species_id>/", rules.species, name="rules-species"),
    path("rules/forms/<slug:form_id>/", rules.form, name="rules-form"),
    path("rules/rule/<slug:origin>/<slug:rule_id>/", rules.rule, name="rule"),
    path("rules/rule/<slug:origin>/<slug:rule_id>/change/", rules.change, name="rule-change"),
    path("rules/rule/<slug:origin>/<slug:rule_id>/back/", rules.go_back, name="rule-back"),
    path("sites/", sites.site_list, name="sites"),
    path("sites/<int:site_id>/", sites.site, name="site"),
    path("clients/<int:client_id>/garden/", places.new_site, name="site-new"),
    path("sites/<int:site_id>/edit/", places.edit_site, name="site-edit"),
    path("sites/<int:site_id>/support/", places.new_support, name="support-new"),
    path("supports/<int:support_id>/edit/", places.edit_support, name="support-edit"),
    path("supports/<int:support_id>/tree/", places.new_tree, name="tree-new"),
    path("trees/<int:tree_id>/edit/", places.edit_tree, name="tree-edit"),
    path("trees/<int:tree_id>/out/", places.take_tree_out, name="tree-out"),
    path("sites/<int:site_id>/year/", site_year.year, name="site-year"),
    path("sites/<int:site_id>/station/", site_year.station, name="site-station"),
    path("stations/", stations.stations, name="stations"),
    path("stations/new/", stations.new, name="station-new"),
    path("stations/<int:station_id>/", stations.station, name="station"),
    path("stations/<int:station_id>/bring/", stations.bring, name="station-bring"),
    path("supports/<int:support_id>/", supports.support, name="support"),
    path("supports/<int:support_id>/build/", supports.build, name="support-build"),
    path("supports/<int:support_id>/slack/", supports.slack, name="support-slack"),
    path("trees/", trees.tree_list, name="trees"),
    path("trees/<int:tree_id>/", trees.tree, name="tree"),
    path("supports/<int:support_id>/design/", designer.designer, name="designer"),
    path("trees/<int:tree_id>/years/", designer.years, name="tree-years"),
    path("trees/<int:tree_id>/record/", trees.record, name="tree-record"),
    path("records/<int:record_id>/withdraw/", trees.withdraw, name="record-withdraw"),
    path("photos/<uuid:uid>", photos.photo, name="photo"),
    path("photos/<uuid:uid>/small", photos.photo, {"size": "small"}, name="photo-small"),
]
