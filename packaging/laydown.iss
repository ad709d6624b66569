; The installer for Windows, made by Inno Setup 6 (packaging/build.py calls it with Version and Name).
; Never run: nobody here has such a computer. If something fails, please tell us.

[Setup]
AppId=laydown
AppName=laydown
AppVersion={#Version}
AppPublisher=The laydown developers
LicenseFile=..\LICENSE
; for one account, without an administrator
PrivilegesRequired=lowest
DefaultDirName={localappdata}\Programs\laydown
DisableProgramGroupPage=yes
ArchitecturesAllowed=x64compatible
ChangesAssociations=yes
SetupIconFile=..\build\mark.ico
UninstallDisplayIcon={app}\laydown.exe
OutputDir=..\build
OutputBaseFilename={#Name}

; the library lies in the account's own data folder, which is not removed with the program
[Files]
Source: "..\build\program\laydown\*"; DestDir: "{app}"; Flags: recursesubdirs ignoreversion

[InstallDelete]
Type: filesandordirs; Name: "{app}\_internal"

[UninstallDelete]
Type: filesandordirs; Name: "{localappdata}\laydown\Cache"

[Icons]
Name: "{autoprograms}\laydown"; Filename: "{app}\laydown.exe"

[Registry]
Root: HKA; Subkey: "Software\Classes\.laydown"; ValueType: string; ValueData: "laydown.library"; Flags: uninsdeletekey
Root: HKA; Subkey: "Software\Classes\laydown.library"; ValueType: string; ValueData: "Library of laydown"; Flags: uninsdeletekey
Root: HKA; Subkey: "Software\Classes\laydown.library\DefaultIcon"; ValueType: string; ValueData: "{app}\laydown.exe,0"
Root: HKA; Subkey: "Software\Classes\laydown.library\shell\open\command"; ValueType: string; ValueData: """{app}\laydown.exe"" open ""%1"""

[Run]
Filename: "{app}\laydown.exe"; Description: "Open the bench"; Flags: postinstall nowait skipifsilent
