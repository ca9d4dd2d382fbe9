from django.urls import path

from builds.guides.views import (
    checks,
    circuit,
    contact,
    editor,
    history,
    kits,
    parts,
    people,
    pictures,
    revision,
    texts,
    wiring,
    words,
)

app_name = "guides"
_rev = "<slug:kit>/<str:letter>"
urlpatterns = [
    path("", kits.kits, name="kits"),
    path("import/", kits.import_guide, name="import"),
    path("new/", kits.new_kit, name="new-kit"),
    # Longer than any letter of a revision, so that it is none.
    path("<slug:kit>/co-designers/", people.people, name="people"),
    path("<slug:kit>/co-designers/<int:pk>/", people.change_person, name="change-person"),
    path(f"{_rev}/", revision.revision, name="revision"),
    path(f"{_rev}/guide.<str:form>", revision.export, name="export"),
    path(f"{_rev}/issue/", revision.issue, name="issue"),
    path(f"{_rev}/withdraw/", revision.withdraw, name="withdraw"),
    path(f"{_rev}/clone/", revision.clone, name="clone"),
    path(f"{_rev}/contact/", contact.contact, name="contact"),
    path(f"{_rev}/circuit/", circuit.circuit, name="circuit"),
    path(f"{_rev}/circuit/again/", circuit.again, name="circuit-again"),
    path(f"{_rev}/circuit/of/<int:pk>/", circuit.of_one, name="circuit-of"),
    path(f"{_rev}/circuit/take/<int:pk>/", circuit.take, name="circuit-take"),
    path(f"{_rev}/against/<str:other>/", revision.compare, name="compare"),
    path(f"{_rev}/pictures/<str:name>", revision.picture, name="picture"),
    path(f"{_rev}/add-picture/", pictures.add_picture, name="add-picture"),
    path(f"{_rev}/pictures/<str:name>/delete/", pictures.delete_picture, name="delete-picture"),
    path(f"{_rev}/undo/", history.undo_edit, name="undo"),
    path(f"{_rev}/delete/", history.delete_revision, name="delete-draft"),
    path(f"{_rev}/parts/import/", parts.parts_import, name="parts-import"),
    path(f"{_rev}/parts/grid/", parts.grid, name="parts-grid"),
    path(f"{_rev}/wiring/", wiring.wiring, name="wiring"),
    path(f"{_rev}/wiring/list/", wiring.wire_list, name="wire-list"),
    path(f"{_rev}/blocks/", wiring.blocks, name="blocks"),
    path(f"{_rev}/blocks/<slug:key>/", wiring.block, name="block"),
    path(f"{_rev}/checks/proposed/", checks.proposals, name="proposals"),
    path(f"{_rev}/checks/grid/", checks.grid, name="checks-grid"),
    path(f"{_rev}/text/", texts.text_import, name="text-import"),
    path(f"{_rev}/import-over/", kits.import_over_draft, name="import-over"),
    path(f"{_rev}/replace/", words.replace, name="replace"),
    path(f"{_rev}/copy-from/", words.copy_from, name="copy-from"),
    path(f"{_rev}/head/", editor.head, name="edit-head"),
    path(f"{_rev}/preview/<slug:stage>/", editor.preview, name="preview"),
    path(f"{_rev}/in/<slug:stage>/preview/<slug:kind>/", editor.preview_row, name="preview-row"),
    path(f"{_rev}/add/<slug:kind>/", editor.add, name="add"),
    path(f"{_rev}/in/<slug:stage>/add/<slug:kind>/", editor.add, name="add-inner"),
]
for _name, _view in (("edit", editor.edit), ("move", editor.move), ("delete", editor.delete)):
    urlpatterns += [
        path(f"{_rev}/<slug:kind>/<int:pk>/{_name}/", _view, name=_name),
        path(f"{_rev}/in/<slug:stage>/<slug:kind>/<int:pk>/{_name}/", _view, name=f"{_name}-inner"),
    ]
